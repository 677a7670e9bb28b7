"""The findings sheet: what was typed stands as it was typed, and the levels with their doubt as they were stored."""

from typing import Any

import pytest

from collum.papers import paper
from collum.papers.facts import words
from collum.wording import text
from tests.papers.conftest import HEAD, OLD, old_plan, printed, shown
from tests.papers.pages import words_of

READINGS: dict[str, Any] = {
    "order": ["F", "L", "45"],
    "step": {"probing_depth": 0.5, "bone_sounding": 1.0},
    "probing_depth": {"F": [4.0, 4.5], "L": "not measurable", "45": {"beyond": 10.0}},
    "bone_sounding": {
        "F": {"value": 6.0, "error": 1.2, "state": "after injection", "landmark": "rim of the stent", "examiner": "KM"},
        "L": 5.0,
        "45": {"value": 6.25, "error": 1.2, "state": "after injection", "landmark": "rim of the stent", "examiner": "KM"},
    },
    "cej_height": {"F": -3.0, "L": -4.0},
    "keratinised_width": {"F": 5.0, "L": "not applicable"},
}


def with_case(**tooth: Any) -> str:
    """Print the sheet of a stored plan with another entry for the tooth."""
    case = OLD["46-kept"]["case"]
    changed = {**case, "teeth": [{"number": 46, **tooth}]}
    return words_of(paper("findings-sheet", old_plan("46-kept"), tooth=0, head=HEAD, case=changed))


def test_readings_stand_as_they_were_typed() -> None:
    page = with_case(sites=READINGS)
    assert "probing depth 0.5 4.0 4.5 not meas. > 10.0" in page
    assert "bonesounding,depth1.06.0a5.06.25a" in page.replace(" ", "")
    assert "a own error 1.2 mm; after injection; from: rim of the stent; read by KM" in page
    assert "CEJ, height 1.0 −3.0 −4.0" in page
    assert "keratinised tissue, width 1.0 5.0 n. a." in page
    assert "b own error" not in page


def test_a_case_without_readings_says_so() -> None:
    assert text("paper.findings.nothing_read") in with_case()


@pytest.mark.parametrize("name", ["46-kept", "33-kept-twelve-sites"])
def test_every_level_at_every_site_is_the_plans(name: str) -> None:
    plan = old_plan(name)
    tooth = plan["teeth"][0]
    bare = words_of(printed("findings-sheet", plan)).replace(" ", "")
    margin = tooth["levels"]["gingival_margin"]["mean_height_mm"]
    at = [round(angle / 10) % 36 for angle in tooth["sites_deg"]]
    for level, sign in (("probe_tip", -1), ("crest", -1), ("sulcus_base", -1), ("sound_edge", 1), ("cej", 1)):
        found = tooth["levels"][level]
        ends = ("p95_height_mm", "p05_height_mm") if sign < 0 else ("p05_height_mm", "p95_height_mm")
        cells = [shown(sign * (found[which][i] - margin[i])) for i in at for which in ("mean_height_mm", *ends)]
        assert (text(f"paper.findings.level_of.{level}") + "".join(cells)).replace(" ", "") in bare


def test_what_is_odd_open_or_not_read_stands_there() -> None:
    plan = old_plan("46-kept")
    tooth = plan["teeth"][0]
    assert words_of(printed("findings-sheet", plan)).count(text("paper.findings.level_of.sound_edge")) == 2
    tooth["odd_readings"] = [{"reason": {"text": "The sounding at DL does not fit."}}]
    tooth["levels"]["sound_edge"] = None
    tooth["levels"]["absent"]["sound_edge"] = {"text": "No height of the sound edge was read."}
    page = words_of(printed("findings-sheet", plan))
    for said in ("The sounding at DL does not fit.", "No height of the sound edge was read.", tooth["questions"][0]["text"]):
        assert said in page
    assert page.count(text("paper.findings.level_of.sound_edge")) == 1  # among the readings, no longer among the levels


def test_the_state_of_the_tissue_and_what_else_was_entered_stand_in_words() -> None:
    page = with_case(state="overgrown", overgrowth={"cause": "drug", "controlled_since": "2026-05-18"}, vital=True, newer_key=3)
    assert "state of the tissue overgrown" in page
    assert "overgrowth cause drug, controlled since 2026-05-18" in page
    assert "pulp vital yes" in page
    assert "phenotype thick" in page
    assert "newer key 3" in page  # a key of a newer layout is shown, not dropped


def test_no_cut_stands_on_the_findings() -> None:
    page = words_of(printed("findings-sheet", old_plan("46-kept")))
    for line in ("cut_line", "sutured_line", "finish_line"):
        assert text(f"paper.line.{line}") not in page


@pytest.mark.parametrize(
    ("entered", "said"),
    [
        (True, "yes"),
        (-1.5, "−1.5"),
        (["ML", "DL"], "ML; DL"),
        ([], "nothing"),
        ({"grade": 2, "scale": "Hamp"}, "grade 2, scale Hamp"),
        ({"length_mm": 14.0}, "length 14 mm"),
        ({"position": "at the margin", "mm": 0.5, "convergence_deg": 12}, "position at the margin, 0.5 mm, convergence 12°"),
    ],
)
def test_an_entry_in_words(entered: Any, said: str) -> None:
    assert words(entered) == said
