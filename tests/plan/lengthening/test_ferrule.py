"""Where a ferrule is asked, and how much: the loaded sectors alone, less for a vital tooth without core; elsewhere the line
on tooth.
"""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from collum.case.model import Tooth
from collum.case.parts import tooth_facts
from collum.core.ring import STATIONS, angular_distance_deg
from collum.core.ring import STATIONS_DEG as DEG
from collum.plan.lengthening.procedures.procedure import Treatment
from collum.plan.lengthening.procedures.registry import procedure_of
from collum.plan.lengthening.requirements.assessment import assess
from collum.plan.lengthening.requirements.rules import wishes_of
from collum.plan.lengthening.requirements.verdict import Graded
from tests.making.teeth import healthy_premolar
from tests.measuring.exact import exact_neck
from tests.measuring.necks import EVIDENCE

LINE = 0.5
FAR_FROM_LOAD = np.minimum(angular_distance_deg(DEG, 90), angular_distance_deg(DEG, 270)) <= 40  # of a back tooth


def ferrule(which: Tooth, sound_mm: np.ndarray) -> Graded:
    neck = exact_neck(which, sulcus=1.5, crest=4.0, own_height=4.0, sound=sound_mm, edge=8.0)
    wishes = wishes_of(which, np.ones(STATIONS), EVIDENCE, deep_sulcus=False)
    found = assess(
        neck,
        wishes,
        np.zeros(STATIONS),
        np.full(STATIONS, LINE),
        Treatment(procedure=procedure_of("restore without lengthening")),
    )
    graded = found.graded["ferrule"]
    assert graded is not None
    return graded


def tooth(number: int = 45, *, vital: bool | None = False, **changes: Any) -> Tooth:
    return replace(healthy_premolar(number=number, vital=vital), **changes)


@pytest.mark.parametrize(("height_mm", "reserve_mm"), [(2.1, 0.1), (2.0, 0.0), (1.9, -0.1)])
def test_two_millimetres_where_the_load_is(height_mm: float, reserve_mm: float) -> None:
    sound = np.where(FAR_FROM_LOAD, LINE + 5.0, LINE + height_mm)
    assert ferrule(tooth(), sound).least == pytest.approx(reserve_mm)


@pytest.mark.parametrize(("height_mm", "reserve_mm"), [(0.1, 0.1), (0.0, 0.0), (-0.1, -0.1)])
def test_elsewhere_the_line_has_to_lie_on_sound_tooth_and_no_more(height_mm: float, reserve_mm: float) -> None:
    sound = np.where(FAR_FROM_LOAD, LINE + height_mm, LINE + 5.0)
    assert ferrule(tooth(), sound).least == pytest.approx(reserve_mm)


@pytest.mark.parametrize(
    ("vital", "core", "limit_mm"),
    [
        (True, None, 1.0),
        (True, {"present": False, "planned": False}, 1.0),
        (True, {"present": True}, 2.0),
        (True, {"planned": True}, 2.0),
        (False, None, 2.0),
        (None, None, 2.0),
    ],
)
def test_a_vital_tooth_without_core_needs_a_sound_wall_only(vital: bool | None, core: object, limit_mm: float) -> None:
    """Of a tooth whose vitality is not stated nothing is given away."""
    which = tooth(vital=vital, facts=tooth_facts({} if core is None else {"core": core}))
    assert ferrule(which, np.full(STATIONS, LINE + limit_mm)).least == pytest.approx(0.0)


@pytest.mark.parametrize(
    ("number", "changes", "loaded_deg"),
    [
        (11, {}, {180}),
        (23, {}, {180}),
        (31, {}, {0, 180}),
        (45, {}, {0, 180}),
        (45, {"contact_mesial": "pontic"}, {0, 90, 180}),
        (45, {"contact_distal": "pontic"}, {0, 180, 270}),
        (11, {"contact_distal": "pontic"}, {180, 270}),
    ],
)
def test_the_load_is_palatal_in_upper_front_teeth_and_at_the_pontic(number: int, changes: Any, loaded_deg: set[int]) -> None:
    wishes = wishes_of(tooth(number, **changes), np.ones(STATIONS), EVIDENCE, deep_sulcus=False)
    assert {deg for deg in (0, 90, 180, 270) if wishes.loaded[deg // 10]} == loaded_deg
    assert set(wishes.ferrule_mm) == {0.0, 2.0}
    assert int(wishes.loaded.sum()) == 7 * len(loaded_deg)  # 30 degrees on either side
