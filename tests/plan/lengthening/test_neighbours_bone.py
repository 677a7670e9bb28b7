"""Bone between two teeth is the neighbour's too: it costs more where a neighbour stands, and nowhere else."""

from dataclasses import replace

import numpy as np
import pytest

from collum.case.model import Tooth
from collum.core.ring import STATIONS
from collum.plan.lengthening.procedures.bone_surgery import BONE_SURGERY
from collum.plan.lengthening.procedures.procedure import Treatment
from collum.plan.lengthening.requirements.rules import wishes_of
from collum.plan.lengthening.solver.bone_programme import BoneProgramme, cost_of, solve_bone
from collum.plan.lengthening.solver.bounds import bone_programme_of, bounds_of
from tests.making.teeth import broken_premolar, case_of
from tests.measuring.necks import drawn_neck

FACIAL, MESIAL, ORAL, DISTAL = 0, 9, 18, 27


def programme(tooth: Tooth) -> BoneProgramme:
    neck = drawn_neck(case_of(tooth), 100)
    wishes = wishes_of(tooth, neck.inputs.thickness_mm, neck.evidence, deep_sulcus=False)
    treatment = Treatment(procedure=BONE_SURGERY)
    return bone_programme_of(neck, wishes, bounds_of(neck, wishes, treatment), {}, treatment, arc_mm=0.6)


@pytest.mark.parametrize(("contact", "mesial"), [("tooth", 1.0), ("gap", 0.0)])
def test_bone_is_the_neighbours_too_between_the_teeth_alone(contact: str, mesial: float) -> None:
    shared = programme(broken_premolar(contact_mesial=contact)).beside_neighbour
    assert shared[[FACIAL, MESIAL, ORAL, DISTAL]] == pytest.approx([0, mesial, 0, 1])


def test_a_millimetre_of_bone_costs_more_beside_a_neighbour() -> None:
    alone = replace(programme(broken_premolar()), beside_neighbour=np.zeros(STATIONS))
    beside = replace(alone, beside_neighbour=np.eye(STATIONS)[MESIAL])
    extra = cost_of(beside)[1] - cost_of(alone)[1]
    assert np.flatnonzero(extra).size == 1 and extra.max() > 0


def test_less_bone_is_taken_where_the_neighbour_would_lose_it() -> None:
    between = np.eye(STATIONS)[MESIAL] + np.eye(STATIONS)[DISTAL]
    made = programme(broken_premolar())
    taken = [solve_bone(replace(made, beside_neighbour=share * between)).bone_mm for share in (0.0, 1.0)]
    assert taken[1][[MESIAL, DISTAL]].sum() <= taken[0][[MESIAL, DISTAL]].sum() + 1e-6
