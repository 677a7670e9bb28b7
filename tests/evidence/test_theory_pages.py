"""The theory pages name only keys, files and parts that exist, and none leaves out what a dentist must not conclude."""

import re
from pathlib import Path

import pytest

from collum.evidence import all_constants

ROOT = Path(__file__).parents[2]
PAGES = sorted((ROOT / "docs" / "theory").glob("*.md"))
HEADINGS = ("Equations", "Sources", "Assumptions", "Range", "Tested against", "What not to conclude")
PARTS = {constant.key.split(".")[0] for constant in all_constants()}


def test_each_model_of_the_core_has_its_page() -> None:
    assert {page.stem for page in PAGES} >= {"levels", "regrowth", "plan", "tooth"}


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.stem)
def test_a_page_has_every_heading_in_order_with_something_under_it(page: Path) -> None:
    parts = re.split(r"^## (.+)$", page.read_text(encoding="utf-8"), flags=re.MULTILINE)
    assert tuple(parts[1::2]) == HEADINGS
    assert all(len(body.strip()) > 40 for body in parts[2::2])


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.stem)
def test_keys_and_paths_on_a_page_exist(page: Path) -> None:
    keys = {constant.key for constant in all_constants()}
    for span in re.findall(r"(?<!`)`([^`\n]+)`(?!`)", page.read_text(encoding="utf-8")):
        if re.fullmatch(r"[a-z0-9_]+(\.[a-z0-9_]+)+", span) and span.split(".")[0] in PARTS:
            assert span in keys, span
        if re.fullmatch(r"[\w./-]+/[\w./-]*", span):
            assert (ROOT / span).exists(), span
    for target in re.findall(r"\]\(([^)#]+\.md)\)", page.read_text(encoding="utf-8")):
        assert (page.parent / target).exists(), target


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.stem)
def test_values_given_beside_their_key_are_those_of_the_registry(page: Path) -> None:
    """Numbers in the text follow the registry: every value of a key named on the page stands on the page too."""
    text = page.read_text(encoding="utf-8")
    for constant in all_constants():
        if f"`{constant.key}`" in text and not constant.key.startswith("plan.limit"):
            assert re.search(rf"(?<![\d.]){re.escape(f'{constant.value:.2f}'.rstrip('0').rstrip('.'))}0*(?![\d])", text), (
                constant.key
            )
