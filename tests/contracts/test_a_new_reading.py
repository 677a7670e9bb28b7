"""A new kind of reading is one row: a script adds a made-up one to a copy of the source, and every part has it.

What a newcomer writes by hand is taken from docs/adding.md.
"""

import re
from collections.abc import Mapping
from typing import Any

import pytest

from collum.case.reading_kinds import READING_KINDS
from tests.contracts.additions import additions, answer_of_copy
from tests.contracts.tracked import ROOT, tracked_files
from tools.case_types import case_types

MOST_FILES = 4
KIND = "crest_width"


ADDED = additions("A kind of reading")
ASKED = """
import json
from collum.case import CaseFaults, canonical_json, from_document, schema, to_document
from collum.papers.readings import readings_content
from collum.plan.lengthening.levels.plausible import plausibility_questions
from collum.web.openapi import openapi
from collum.wording import text
from tests.case.guide_keys import guide_kinds, guide_rows
from tests.measuring.necks import EVIDENCE
from tools.case_types import case_types

def document(entry):
    sites = {"order": ["F", "L"], "step": 0.5, "KIND": {"F": entry}}
    return {"format": "collum-case/2", "patient": {"reference": "T-1"}, "teeth": [{"number": 45, "sites": sites}]}

def faults(entry):
    try:
        from_document(document(entry))
    except CaseFaults as refused:
        return [(fault.where, fault.what.key) for fault in refused.faults]
    return []

case = from_document(document([4.0, 4.5]))
questions = [one for one in plausibility_questions(case.teeth[0], EVIDENCE.limits) if one.reading == "KIND"]
print(json.dumps({
    "schema": "KIND" in schema()["properties"]["teeth"]["items"]["properties"]["sites"]["properties"],
    "step": "KIND" in json.dumps(schema()["properties"]["teeth"]["items"]["properties"]["sites"]["properties"]["step"]),
    "comes back": canonical_json(to_document(case)).decode(),
    "too wide": faults(7.5), "a word": faults("not applicable"), "off the step": faults(2.2),
    "paper": readings_content(to_document(case)["teeth"][0])["reading_rows"],
    "guide": guide_kinds(), "keys": guide_rows(),
    "form": case_types(),
    "column": [text("screen.readings.KIND"), text("screen.readings.long_KIND")],
    "asked again": [text(one.said.key, one.said.parameters) for one in questions],
    "api": "KIND" in json.dumps(openapi()["components"]["schemas"]["QuestionDocument"]),
}))
"""


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> Mapping[str, Any]:
    """What a copy of the program with the made-up kind answers."""
    return answer_of_copy(tmp_path_factory.mktemp("copy"), ADDED, ASKED.replace("KIND", KIND))


def test_it_is_written_into_few_files() -> None:
    assert 0 < len({one.path for one in ADDED}) <= MOST_FILES


def test_the_file_takes_it_and_gives_it_back(told: Mapping[str, Any]) -> None:
    assert told["schema"] and told["step"]
    assert f'"{KIND}":{{"F":[4.0,4.5]}}' in told["comes back"]


def test_it_is_held_to_its_range_its_words_and_its_step(told: Mapping[str, Any]) -> None:
    place = f"teeth[0].sites.{KIND}.F"
    assert told["too wide"] == [[place, "fault.what.out_of_range"]]
    assert told["a word"] == [[place, "fault.what.not_a_reading"]]
    assert told["off the step"] == [[place, "fault.what.off_the_step"]]


def test_form_paper_guide_and_description_have_it(told: Mapping[str, Any]) -> None:
    rows = re.findall(r'\{ id: "([a-z_]+)"', told["form"])
    assert rows == [*READING_KINDS[:-1], KIND, READING_KINDS[-1]], "in the order of its row"
    assert told["column"] == ["ridge", "width of the crest"]
    assert [row["kind"] for row in told["paper"]] == ["crest, width"]
    assert [cell["value"] for cell in told["paper"][0]["cells"][0]] == ["4.0", "4.5"]
    assert f"| `{KIND}` | across the crest of bone |  | 0 to 7 mm |" in told["guide"]
    assert any(path == f"teeth[].sites.{KIND}" for path, _, _ in told["keys"])
    assert told["api"]


def test_what_is_unusual_is_asked_again(told: Mapping[str, Any]) -> None:
    assert told["asked again"] == ["Width 4.2 mm at F is unusual (usual 1.0 to 3.0 mm)."]


def test_no_second_list_of_the_kinds_is_kept() -> None:
    """Files that name most of the kinds: the row, its constants and words, what is generated, and what each is drawn from."""
    listing = {
        str(path.relative_to(ROOT))
        for path in tracked_files()
        if path.suffix in (".py", ".ts", ".svelte", ".toml") and "demo_practice" not in path.parts
        if str(path.relative_to(ROOT)).startswith(("src/", "frontend/src/"))
        if sum(kind in path.read_text(encoding="utf-8") for kind in READING_KINDS) >= len(READING_KINDS) - 1
    }
    assert listing == {
        "src/collum/case/reading_kinds.py",
        "src/collum/evidence/ranges.py",
        "src/collum/wording/en/readings.toml",
        "src/collum/plan/lengthening/levels/inputs.py",
        "frontend/src/api/case.ts",
    }


def test_the_types_of_the_browser_part_are_made_from_the_schema() -> None:
    kept = (ROOT / "frontend/src/api/case.ts").read_text(encoding="utf-8")
    assert kept == case_types(), "python -m tools.case_types > frontend/src/api/case.ts"
