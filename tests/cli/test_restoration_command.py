"""`collum restoration`: what it prints, in words and as JSON, and how it refuses."""

import json
from pathlib import Path
from typing import Any

import pytest

from collum.case import to_document
from tests.cli.conftest import Run
from tests.making.teeth import broken_premolar, case_of


@pytest.fixture
def broken_file(tmp_path: Path) -> Path:
    """A root-filled stump, all read but its root, with a lost crown and a missing wall."""
    document: dict[str, Any] = to_document(case_of(broken_premolar()))
    document["teeth"][0] |= {
        "old_crown": {"failures": 3},
        "old_stump": {"height_mm": 2.0, "convergence_deg": 30, "cement": "temporary"},
        "missing_walls": ["ML"],
    }
    document["teeth"][0].pop("root")
    file = tmp_path / "broken.json"
    file.write_text(json.dumps(document), encoding="utf-8")
    return file


def test_in_words(run: Run, broken_file: Path) -> None:
    ran = run("restoration", broken_file)
    assert (ran.status, ran.err) == (0, "")
    for words in (
        "will the restoration of 45 (29), lower right second premolar, hold?",
        "resistance",
        "zinc phosphate",
        "from memory",
        "resists (50 % wanted), least",
        "The best gain comes from one laboratory study",
        "from a textbook",
        "lithium",
        "for: It lacked resistance: 12 % of the wall",  # 1 - 7 sin 15 cos 15 / 2
        "for: It was held by a temporary cement.",
        "open: Caries under the previous crown: not entered.",
        "Pins, one for each missing wall",
        "The root was not measured",
        "It promises nothing",
        "Not cleared",
    ):
        assert words in ran.out.replace("\n", " "), words
    assert max(len(line) for line in ran.out.splitlines()) <= 100


def test_as_json_for_one_tooth(run: Run, broken_file: Path) -> None:
    ran = run("restoration", broken_file, "--json", "--tooth", "29 universal")
    found = json.loads(ran.out)
    assert (ran.status, found["format"]) == (0, "collum-restoration/2")
    assert [tooth["number"] for tooth in found["teeth"]] == [45]
    keys = {constant["key"] for constant in found["constants"]}
    route = found["teeth"][0]["routes"][0]
    assert {key for part in route["parts"] for key in part["evidence"]} <= keys
    assert {rule["evidence"] for post in route["posts"] for rule in post["rules"]} <= keys
    assert {one["evidence"] for one in route["retention"]} <= keys
    assert all(one["low_n"] < one["high_n"] for one in route["retention"])


def test_a_tooth_that_is_not_planned_is_refused(run: Run, broken_file: Path) -> None:
    ran = run("restoration", broken_file, "--tooth", "11")
    assert ran.status == 2 and "--tooth" in ran.err and ran.out == ""
