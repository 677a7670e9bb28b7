"""What is shipped stands under licences that allow it, and THIRD_PARTY.md says so truly."""

import pytest

from tests.contracts.tracked import ROOT, tracked_files
from tools import third_party

FONT_ENDINGS = (".ttf", ".otf", ".woff", ".woff2")


def test_every_python_package_the_program_needs_has_an_allowed_licence() -> None:
    parts = third_party.python_parts("run")
    assert len(parts) > 20
    assert [part for part in parts if not third_party.licence_is_allowed(part.licence, shipped=True)] == []


def test_every_python_tool_of_the_checks_has_a_known_and_free_licence() -> None:
    parts = third_party.python_parts("test")
    assert [part for part in parts if not third_party.licence_is_allowed(part.licence, shipped=False)] == []


def test_every_package_of_the_browser_part_has_an_allowed_licence() -> None:
    parts = third_party.browser_parts()
    assert len(parts) > 20
    assert [part for part in parts if not third_party.licence_is_allowed(part.licence, shipped=False)] == []
    shipped = [part for part in parts if third_party.is_shipped(part.name)]
    assert [part for part in shipped if not third_party.licence_is_allowed(part.licence, shipped=True)] == []


@pytest.mark.parametrize(
    "refused", ["GPL-3.0-only", "AGPL-3.0-or-later", "SSPL-1.0", "unknown", "MIT AND GPL-2.0-only", "", "LGPL-3.0-only"]
)
def test_a_licence_that_binds_others_or_is_unknown_is_refused(refused: str) -> None:
    assert not third_party.licence_is_allowed(refused, shipped=True)
    assert not third_party.licence_is_allowed(refused, shipped=False)


@pytest.mark.parametrize("allowed", ["MIT", "MIT OR GPL-2.0-only", "(MIT OR CC0-1.0)", "BSD-3-Clause AND Zlib"])
def test_a_licence_that_leaves_a_free_choice_is_allowed(allowed: str) -> None:
    assert third_party.licence_is_allowed(allowed, shipped=True)


def test_the_list_of_what_we_stand_on_is_current() -> None:
    assert third_party.PAGE.read_text(encoding="utf-8") == third_party.page()


def test_our_own_licence_is_the_whole_apache_text() -> None:
    text = (ROOT / "LICENSE").read_text(encoding="utf-8")
    assert "Apache License" in text and "END OF TERMS AND CONDITIONS" in text


def test_every_font_lies_beside_its_licence() -> None:
    fonts = [path for path in tracked_files() if path.suffix in FONT_ENDINGS]
    assert [path for path in fonts if not any(path.parent.glob("*OFL*")) and not any(path.parent.glob("LICEN*"))] == []
