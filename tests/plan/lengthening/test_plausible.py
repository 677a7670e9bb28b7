"""Readings that are possible but unlikely are asked again: each question on both sides of its bound, at it nothing is asked."""

from typing import Any

import pytest

from collum.case.model import Reading, Tooth
from collum.evidence import get
from collum.plan.lengthening.levels.plausible import plausibility_questions
from collum.plan.sentence import Sentence
from tests.making.teeth import healthy_premolar, readings
from tests.measuring.necks import EVIDENCE

SITES = ("F", "MF", "ML", "L", "DL", "DF")


def tooth(**kinds: dict[str, float]) -> Tooth:
    """Only these readings: a number at some sites."""
    return healthy_premolar(readings={kind: readings(values) for kind, values in kinds.items()})  # type: ignore[arg-type]  # kinds


def asked(which: Tooth, key: str) -> list[Sentence]:
    return [q.said for q in plausibility_questions(which, EVIDENCE.limits) if q.said.key == f"plan.question.{key}"]


@pytest.mark.parametrize("kind", ["probing_depth", "bone_sounding", "keratinised_width", "tissue_thickness", "wall_thickness"])
def test_what_lies_outside_the_usual_range_is_asked_again(kind: str) -> None:
    usual = get(f"case.soft.{kind}_mm")
    for inside in (usual.low, usual.high):
        assert asked(tooth(**{kind: {"F": inside}}), f"unusual.{kind}") == []
    outside = [usual.high + 0.5, *([usual.low - 0.1] if usual.low > 0 else [])]
    for mm in outside:
        (question,) = asked(tooth(**{kind: {"F": mm}}), f"unusual.{kind}")
        assert (question.parameters["site"], question.parameters["value_mm"]) == ("F", mm)
        assert (question.parameters["low_mm"], question.parameters["high_mm"]) == (usual.low, usual.high)


@pytest.mark.parametrize(
    ("between_mm", "key"),
    [(0.4, "little_attachment"), (0.5, None), (2.0, None), (4.0, None), (4.1, "much_attachment")],
)
def test_little_and_much_attachment_between_floor_and_bone(between_mm: float, key: str | None) -> None:
    """Half a millimetre and four are still asked nothing about."""
    found = tooth(probing_depth={"F": 2.0}, bone_sounding={"F": 2.0 + between_mm})
    keys = {q.said.key for q in plausibility_questions(found, EVIDENCE.limits)}
    assert keys == (set() if key is None else {f"plan.question.{key}"})


def test_attachment_is_asked_about_only_where_both_were_read() -> None:
    apart = tooth(probing_depth={"F": 2.0}, bone_sounding={"L": 2.1})
    assert asked(apart, "little_attachment") == []


@pytest.mark.parametrize("kind", ["probing_depth", "bone_sounding"])
@pytest.mark.parametrize(("jump_mm", "count"), [(3.0, 0), (3.1, 1)])
def test_a_jump_between_neighbouring_sites_is_asked_about(kind: str, jump_mm: float, count: int) -> None:
    found = asked(tooth(**{kind: {"F": 2.5, "MF": 2.5 + jump_mm}}), f"jump.{kind}")
    assert len(found) == count
    for question in found:
        assert {question.parameters["first"], question.parameters["second"]} == {"F", "MF"}
        assert question.parameters["jump_mm"] == pytest.approx(jump_mm)


def test_a_jump_is_seen_across_facial_and_in_any_order_of_typing() -> None:
    """DF and F are neighbours though they stand at the ends of the list; ML and DF are not."""
    deep = dict.fromkeys(SITES, 2.0) | {"DF": 5.5}
    for order in (SITES, SITES[::-1]):
        found = asked(healthy_premolar(sites=order, readings={"probing_depth": readings(deep)}), "jump.probing_depth")  # type: ignore[arg-type]  # numbers
        assert {frozenset((q.parameters["first"], q.parameters["second"])) for q in found} == {
            frozenset(("DL", "DF")),
            frozenset(("DF", "F")),
        }


def test_repeats_are_asked_about_by_their_mean_and_what_was_not_measured_not_at_all() -> None:
    repeated: dict[str, Any] = {"F": (Reading(value_mm=9.0, step_mm=0.5), Reading(value_mm=2.0, step_mm=0.5))}
    assert get("case.soft.probing_depth_mm").high >= 5.5  # 9.0 alone would be asked about
    assert asked(healthy_premolar(readings={"probing_depth": repeated}), "unusual.probing_depth") == []
    silent: dict[str, Any] = {"F": (Reading(value_mm=None, step_mm=0.5, outcome="not measurable"),)}
    assert plausibility_questions(healthy_premolar(readings={"probing_depth": silent}), EVIDENCE.limits) == ()


def test_a_healthy_tooth_is_asked_nothing() -> None:
    assert plausibility_questions(healthy_premolar(), EVIDENCE.limits) == ()
