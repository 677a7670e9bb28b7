"""`collum heat`: the answer in a terminal and as JSON; it releases no card."""

import json
import re
from pathlib import Path
from typing import Any

import pytest

from collum.wire.heat.document import HeatDocument
from tests.cli.conftest import Run
from tests.measuring.heat import heat_by_hand

pytestmark = pytest.mark.slow


def test_both_forms_give_answer_round_and_bands_release_no_card_and_name_no_temperature(run: Run, case_file: Path) -> None:
    wire, ran = run("heat", case_file, "--json"), run("heat", case_file)
    assert (wire.status, wire.err, ran.status, ran.err) == (0, "", 0, "")
    found = HeatDocument.model_validate_json(wire.out)
    assert (found.format, found.safety_cleared, [tooth.number for tooth in found.teeth]) == ("collum-heat/1", False, [45])
    assert {constant.key.partition(".")[0] for constant in found.constants} == {"heat", "pacing"}
    made, shown = found.teeth[0], re.sub(r"\s+", " ", ran.out)
    for sentence in [*made.answer, *made.reminders, *found.assumptions, found.no_card, found.safety_reason]:
        assert sentence.text in shown
    assert "No card for cutting is released" in shown and "Not cleared" in shown
    assert made.round is not None
    lines = ran.out.splitlines()
    for number, stroke in enumerate(made.round.strokes, start=1):
        row = next(line.split() for line in lines if line.split()[:2] == [str(number), str(stroke.sector + 1)])
        assert f"{stroke.start_s:.1f}" in row
    assert max(len(line) for line in lines) <= 100 and not any(line != line.rstrip() for line in lines)
    without_constants = found.model_copy(update={"constants": []}).model_dump_json()
    for words in (ran.out, without_constants):
        assert not re.search(r"°C|degC|\bcelsius\b|\bkelvin\b", words, re.IGNORECASE)


@pytest.mark.parametrize("speed", ["6.9", "10.5", "-1"])
def test_a_speed_out_of_range_is_refused_in_words(run: Run, case_file: Path, speed: str) -> None:
    ran = run("heat", case_file, "--speed", speed)
    assert (ran.status, ran.out) == (2, "")
    assert ran.err == f"--speed: is no speed for a stroke ({speed}); allowed: 7 to 10 mm/s\n"


def test_passes_and_teeth_are_asked_for_and_refused(run: Run, case_file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("collum.app.plans.heat.heat_of_plan", heat_by_hand)
    made = json.loads(run("heat", case_file, "--json", "--passes", "2", "--tooth", "29 universal").out)["teeth"]
    assert [(tooth["number"], tooth["passes_asked"]) for tooth in made] == [(45, 2)]
    assert run("heat", case_file, "--passes", "0").status == 2
    ran = run("heat", case_file, "--tooth", "11")
    assert (ran.status, ran.err) == (2, "--tooth: is not planned in this case (11); allowed: 45\n")


def test_a_tooth_without_a_cut_is_answered_in_a_sentence(run: Run, tmp_path: Path, document: dict[str, Any]) -> None:
    document["teeth"][0]["bleeding"] = ["DL"]
    file = tmp_path / "bleeding.json"
    file.write_text(json.dumps(document), encoding="utf-8")
    ran = run("heat", file)
    assert ran.status == 0
    assert "proposes no cut for this tooth" in ran.out and "stroke by stroke" not in ran.out
