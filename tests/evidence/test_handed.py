"""The evidence handed in: the registry's values under typed names, or others within their range, named by one hash."""

from dataclasses import fields
from typing import Any

import pytest

from collum.evidence import all_constants, get, value
from collum.evidence.handed import Evidence, Handed, HealingLaw, NeckPriors, PlanLimits, evidence_of, keys_of

PARTS = (NeckPriors, HealingLaw, PlanLimits)
EVIDENCE = evidence_of(all_constants())
# The longest ending first. The pace of extrusion is registered as weeks, for 1 mm.
_UNIT = {
    "_weeks_per_mm": "weeks",
    "_weeks": "weeks",
    "_per_mm2": "1/mm2",
    "_per_mm": "1/mm",
    "_mm2": "mm2",
    "_mm": "mm",
    "_deg": "deg",
    "_percent": "%",
}


def part_of(evidence: Evidence, kind: type[Any]) -> Any:
    return next(p for p in (evidence.neck, evidence.healing, evidence.limits) if isinstance(p, kind))


@pytest.mark.parametrize("kind", PARTS)
def test_each_field_has_the_value_and_the_unit_of_its_constant(kind: type[Any]) -> None:
    assert keys_of(kind).keys() == {field.name for field in fields(kind)}
    for name, key in keys_of(kind).items():
        assert getattr(part_of(EVIDENCE, kind), name) == value(key)
        unit = next((unit for ending, unit in _UNIT.items() if name.endswith(ending)), "1")
        assert get(key).unit == unit, name


def test_a_value_handed_in_takes_the_place_of_the_registrys_and_says_where_it_comes_from() -> None:
    key = "healing.residual_mm"
    evidence = evidence_of(all_constants(), {key: Handed(value=0.3, origin="practice")})
    assert (evidence.values[key], evidence.healing.residual_mm, evidence.origin[key]) == (0.3, 0.3, "practice")
    assert EVIDENCE.origin[key] == "registry"
    planned = {c.key: c.value for c in evidence.as_planned(all_constants())}
    assert {k: v for k, v in planned.items() if v != value(k)} == {key: 0.3}


def test_one_hash_names_values_and_origins() -> None:
    others = [
        evidence_of(all_constants(), {"healing.residual_mm": Handed(value=given, origin=origin)}).sha256
        for given, origin in ((0.3, "practice"), (0.3, "learned(ab)"), (0.31, "practice"))
    ]
    assert len({EVIDENCE.sha256, *others}) == 4
    assert evidence_of(reversed(all_constants())).sha256 == EVIDENCE.sha256


@pytest.mark.parametrize("given", [0.09, 0.46, float("nan")])
def test_a_value_outside_its_range_is_refused(given: float) -> None:
    with pytest.raises(ValueError, match=r"healing\.residual_mm = .*outside \[0\.1, 0\.45\]"):
        evidence_of(all_constants(), {"healing.residual_mm": Handed(value=given, origin="practice")})


def test_a_hard_floor_is_not_passed_by_what_is_handed_in() -> None:
    key = "plan.limit.clear_of_bone_mm"
    assert get(key).editable_down_to == 1.0
    with pytest.raises(ValueError, match=r"outside \[1\.0, 3\.0\]"):
        evidence_of(all_constants(), {key: Handed(value=0.99, origin="practice")})


def test_physics_cannot_be_handed_in() -> None:
    with pytest.raises(KeyError, match=r"heat\."):
        evidence_of(all_constants(), {"heat.gum.conductivity": Handed(value=1, origin="practice")})
