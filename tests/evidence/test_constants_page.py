"""docs/constants.md says what the registry says."""

from pathlib import Path

import pytest

from collum.app import evidence_page
from collum.app.evidence_page import constants_page
from collum.evidence import Constant, all_constants, all_references, get

PAGE = Path(__file__).parents[2] / "docs" / "constants.md"


def row_of(key: str, page: str) -> str:
    (row,) = [line for line in page.splitlines() if line.startswith(f"| `{key}` |")]
    return row


def test_the_page_in_the_documentation_is_current() -> None:
    assert PAGE.read_text(encoding="utf-8") == constants_page(), (
        "docs/constants.md is not current: python -m collum.app.evidence_page > docs/constants.md"
    )


def test_every_constant_and_every_work_is_on_the_page_once() -> None:
    page = constants_page()
    for constant in all_constants():
        assert constant.meaning in row_of(constant.key, page)
    for work in all_references():
        assert page.count(f'<a id="{work.key}">') == 1


def test_a_row_gives_value_range_floor_source_and_status() -> None:
    row = row_of("plan.limit.clear_of_crest_mm", constants_page())
    for part in ("2.5 mm", "2.5 to 4, not below 2.5", "[drinstitute](#drinstitute)", "| read |", "| guideline |"):
        assert part in row


def test_a_row_follows_its_record(monkeypatch: pytest.MonkeyPatch) -> None:
    record = get("plan.limit.clear_of_crest_mm")
    fields = {name: getattr(record, name) for name in Constant.__slots__}
    changed = Constant(**{**fields, "value": 2.6, "status": "common_practice", "meaning": "a | b", "editable_up_to": 3.0})
    monkeypatch.setattr(evidence_page, "all_constants", lambda: (changed,))
    row = row_of(record.key, constants_page())
    assert "2.6 mm" in row and "common practice" in row and "a \\| b" in row and "not above 3" in row
    assert constants_page() != PAGE.read_text(encoding="utf-8")
