"""Draws that are kept answer for exactly what they were made from: each field of a case and each constant, changed alone."""

from collections.abc import Iterator, Mapping
from dataclasses import fields, is_dataclass, replace
from typing import Any, Literal, get_args, get_origin, get_type_hints

import numpy as np
import pytest

from collum.app.plans.planning import Planner
from collum.app.speaking import words
from collum.case.model import Case, MirrorReading, Patient, Reading, Restoration
from collum.case.parts import tooth_facts
from collum.core.draws import arrays_of
from collum.evidence import Constant, all_constants
from collum.evidence.handed import Evidence, evidence_of
from collum.plan import LevelTask, Prepared, plan_tooth, prepare
from collum.wire.plan.to_document import tooth_document
from tests.making.teeth import broken_premolar, overgrown_premolar, readings, row
from tests.measuring.necks import EVIDENCE

DRAWS, SEED = 60, 11
INFORMATION = {  # for tests and pages alone; the plan counts the spread by its growth and what is left of it
    "healing.spread_mm",
    "neck.error.chart_variance_mm2",
    "healing.own_height.facial_fit_mm",
    "healing.time_constant.bone_weeks",
    "healing.time_constant.soft_tissue_weeks",
}


def front() -> Case:
    """An upper front tooth, grown over, with every kind of reading that moves its draws; one sounding is odd."""
    tooth = overgrown_premolar(
        number=11,
        bleeding=frozenset({"F", "L"}),
        site_state={"MF": "healthy"},
        contact_distal="gap",
        own_height_from=(MirrorReading(tooth=21, site="F", margin_to_crest_mm=3.1),),
        facts=tooth_facts({"proximal_crest_from_film_mm": {"mesial": 4.2}}),
        restoration=Restoration(visible_zone=True),
        readings={
            **overgrown_premolar().readings,
            "probing_depth": readings(row(3.0, 0.5, 3.5, 3.0, 2.5, 3.5)),
            "bone_sounding": {
                **readings(row(2.6, 4.5, 5.0, 4.5, 5.0, 5.0)),
                "L": (Reading(value_mm=6.0, step_mm=0.5, outcome="beyond"),),
            },
            "cej_height": readings({"F": -1.0}),
        },
    )
    return Case(patient=Patient(reference="A-1", phenotype="thin"), teeth=(tooth,))


def back() -> Case:
    """A lower premolar broken off, level edge, one site deeper than a healthy one, one repeated: greater routes are asked."""
    whole = broken_premolar()
    depths = {**whole.readings["probing_depth"], **readings({"DL": 3.5})}
    tooth = replace(whole, edge_is_level=True, readings={**whole.readings, "probing_depth": depths})
    return Case(patient=Patient(reference="A-2", phenotype="thick"), teeth=(tooth,))


def shown() -> Case:
    """The same where it shows."""
    tooth = replace(back().teeth[0], restoration=Restoration(visible_zone=True))
    return replace(back(), teeth=(tooth,))


CASES = {"front": front(), "back": back()}


def same_neck(one: Prepared, other: Prepared) -> bool:
    """Whether draws and statistics are the same to the last bit."""
    mine, theirs = dict(arrays_of(one)), dict(arrays_of(other))
    for neck, found in ((one, mine), (other, theirs)):
        found |= {"margin_mm": neck.margin_mm, "far_off": neck.far_off}
        found |= {f"{name}.{part}": getattr(level, part) for name, level in neck.levels.items() for part in ("mean", "p95")}
    return mine.keys() == theirs.keys() and all(np.array_equal(mine[name], theirs[name]) for name in mine)


def changed(held: Any, hint: Any) -> Iterator[Any]:
    """Yield what the record becomes with one of its values changed or left out, each in turn."""
    inner = get_args(hint) or (object,)
    if is_dataclass(held):
        hints = get_type_hints(type(held))
        for field in fields(held):
            for other in changed(getattr(held, field.name), hints[field.name]):
                yield replace(held, **{field.name: other})
    elif isinstance(held, Mapping):
        for key, value in held.items():
            yield {k: v for k, v in held.items() if k != key}
            yield from ({**held, key: other} for other in changed(value, inner[-1]))
    elif isinstance(held, tuple):
        yield held[:-1]
        for i, value in enumerate(held):
            yield from ((*held[:i], other, *held[i + 1 :]) for other in changed(value, inner[0]))
    elif isinstance(held, frozenset):
        yield from (held - {value} for value in held)
    elif held is not None:
        yield another(held, inner if get_origin(hint) is Literal else ())


def another(held: Any, words_allowed: tuple[str, ...]) -> Any:
    """Another value of the kind: another word, site, tooth or length."""
    if isinstance(held, str):
        return next((word for word in words_allowed if word != held), "45")
    if isinstance(held, bool):
        return not held
    return held + (1 if isinstance(held, int) else 0.5)


@pytest.mark.slow
@pytest.mark.parametrize("case", CASES.values(), ids=CASES)
def test_a_planner_that_planned_before_gives_what_a_fresh_one_gives(case: Case) -> None:
    """A planner that has drawn for the case draws for each change of it as if it had never seen it."""
    planner = Planner(DRAWS)
    planner._prepared(case, 0, SEED, DRAWS)
    moved = 0
    others = [other for other in changed(case, Case) if other.teeth]
    for other in others:
        kept = planner._prepared(other, 0, SEED, DRAWS)
        fresh = prepare(other, 0, EVIDENCE, seed=SEED, draws=DRAWS)
        assert same_neck(kept, fresh), other
        assert kept.inputs.tooth == other.teeth[0] and kept.inputs.phenotype == other.patient.phenotype
        moved += not same_neck(fresh, planner._prepared(case, 0, SEED, DRAWS))
    assert len(others) > 100 and moved > 60  # the changes are not idle


def test_no_field_of_a_task_is_left_out_of_its_key() -> None:
    """A task is its own key: every record in it compares every field, and holds nothing but plain values."""
    task = task_of(front())
    assert {type(record).__name__ for record in records(task)} >= {"LevelInputs", "NeckState", "SoundingReading", "HealingLaw"}
    for record in records(task):
        assert [field.name for field in fields(record) if not field.compare or field.hash is False] == []


@pytest.mark.parametrize("change", [{"seed": SEED + 1}, {"stream": 1}, {"draws": DRAWS + 1}])
def test_seed_place_and_number_of_draws_are_part_of_the_key(change: dict[str, int]) -> None:
    planner, task = Planner(DRAWS), task_of(front())
    first, again, other = planner._drawn(task), planner._drawn(task_of(front())), planner._drawn(replace(task, **change))
    assert again is first
    assert not np.array_equal(other.sulcus_mm, first.sulcus_mm)
    assert planner._drawn(task) is first  # and the other has not taken its place


def task_of(case: Case) -> LevelTask:
    """What the planner asks the draws of the first tooth for."""
    neck = prepare(case, 0, EVIDENCE, seed=SEED, draws=DRAWS)
    inputs, priors, law = neck.inputs.levels, EVIDENCE.neck, EVIDENCE.healing
    return LevelTask(inputs=inputs, priors=priors, law=law, seed=SEED, stream=0, draws=DRAWS)


def records(held: Any) -> Iterator[Any]:
    """Every record in a record; refuses what is neither a record, a tuple nor a plain value."""
    if is_dataclass(held):
        yield held
        for field in fields(held):
            yield from records(getattr(held, field.name))
    elif isinstance(held, tuple):
        for one in held:
            yield from records(one)
    else:
        assert isinstance(held, float | int | str | bool), held


def shifted(*keys: str, up: bool) -> Evidence:
    """The registry's evidence with constants moved half way to an end of their range, or beside it where that is a point."""

    def moved(constant: Constant) -> Constant:
        if constant.key not in keys:
            return constant
        end = constant.high if up else constant.low
        value = (constant.value + end) / 2 if end != constant.value else constant.value * (1.5 if up else 0.7)
        return replace(constant, value=value, low=min(value, constant.low), high=max(value, constant.high))

    return evidence_of(moved(constant) for constant in all_constants())


KEYS = sorted(key for key in EVIDENCE.values if key.startswith(("neck.", "healing.")))


@pytest.mark.parametrize("key", KEYS)
def test_a_constant_handed_in_is_part_of_the_key_and_moves_an_answer(key: str) -> None:
    planner = Planner(DRAWS)
    answers_move = False
    for case in CASES.values():
        before = planner._prepared(case, 0, SEED, DRAWS)
        for up in (True, False):
            evidence = shifted(key, up=up)
            kept = prepare(case, 0, evidence, seed=SEED, draws=DRAWS, draw=planner._drawn)
            assert same_neck(kept, prepare(case, 0, evidence, seed=SEED, draws=DRAWS))
            answers_move |= not same_neck(kept, before)
    answers_move = answers_move or any(
        planned(name, shifted(key, up=up)) != planned(name, EVIDENCE) for name in PLANNED for up in (True, False)
    )
    assert answers_move is (key not in INFORMATION)


PLANNED = {**CASES, "shown": shown()}
_SEEN: dict[tuple[str, str], str] = {}


def planned(name: str, evidence: Evidence) -> str:
    """Everything that is answered on a case."""
    if (name, evidence.sha256) not in _SEEN:
        neck = prepare(PLANNED[name], 0, evidence, seed=SEED, draws=DRAWS)
        _SEEN[name, evidence.sha256] = tooth_document(plan_tooth(PLANNED[name], 0, neck), words).model_dump_json()
    return _SEEN[name, evidence.sha256]
