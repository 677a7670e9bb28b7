"""No text of the program or its pages reads as a setting of a device: that is the maker's and the clinician's matter."""

import re
from pathlib import Path

import pytest

from tests.contracts.tracked import ROOT, text_of, tracked_files

SETTING = re.compile(
    r"\bwatts?\b|\bvolts?\b|\b\d+(?:[.,]\d+)?\s?(?:W|V|kV|kHz|MHz)\b|\bwave ?forms?\b|\bblend(?:ed)?\b|\bcoagulat\w+|\bcoag\b"
    r"|\bfulgurat\w+|\bdesiccat\w+|\b(?:fully|partially) rectified\b|\bspark[ -]gap\b|\b(?:power|output) (?:setting|level)\b"
    r"|\b(?:cut|cutting|pure cut) mode\b|\bduty cycle\b|\bdial\b",
    re.IGNORECASE,
)
# The theory of heat has to speak of power; no other page does.
EXCEPTED = ("docs/theory/heat.md",)
# The screens hold no words of their own: theirs are in the catalogue, which is TOML.
ENDINGS = (".md", ".toml", ".typ")
ALSO = ("src/collum/evidence/",)


def settings_named(text: str) -> list[str]:
    """Return every piece of a text that reads as a setting of an electrosurgical unit."""
    return [found.group() for found in SETTING.finditer(text)]


def test_no_text_reads_as_a_setting_of_a_device() -> None:
    watched = [path for path in tracked_files() if _is_watched(path)]
    assert len(watched) > 20
    found = {path.relative_to(ROOT).as_posix(): settings_named(text_of(path) or "") for path in watched}
    assert {name: words for name, words in found.items() if words} == {}


@pytest.mark.parametrize(
    "text", ["set to 35 W", "Watt", "use the blended current", "fully rectified", "1.7 MHz", "power level 4", "pure cut mode"]
)
def test_the_scan_finds_a_planted_setting(text: str) -> None:
    assert settings_named(text)


@pytest.mark.parametrize(
    "text", ["3.5 mm", "W. H. 1999", "the cut line", "in the mode of speech", "a level of the neck", "volume 5"]
)
def test_the_scan_passes_words_of_the_plan(text: str) -> None:
    assert not settings_named(text)


def _is_watched(path: Path) -> bool:
    name = path.relative_to(ROOT).as_posix()
    if (
        name in EXCEPTED
        or name.startswith(("tests/", "requirements/", "frontend/node_modules"))
        or path.name.endswith("lock.json")
    ):
        return False
    return path.suffix in ENDINGS or name.startswith(ALSO)
