"""What is planned keeps 1.0 mm of tissue over bone at 0.99, whatever else it cannot keep: a shallower cut is always there."""

import numpy as np
import pytest

from collum.case import from_document
from collum.plan import plan_tooth
from tests.making.mouths import make_mouths
from tests.measuring.necks import drawn_neck

DRAWS = 2_000


@pytest.mark.slow
@pytest.mark.parametrize("overgrown", [False, True])
def test_no_planned_cut_comes_nearer_to_bone_than_allowed(overgrown: bool) -> None:
    below = []
    for mouth in make_mouths("charts", 50, np.random.default_rng(8), overgrown=overgrown):
        if not mouth.plausible:
            continue
        case = from_document(mouth.document)
        plan = plan_tooth(case, 0, drawn_neck(case, DRAWS)).route("soft tissue only").plan
        bone = None if plan is None else plan.assessment.graded.get("clear_of_bone")
        if bone is not None and bone.probability < 0.99:
            below.append((mouth.document["patient"], round(bone.probability, 4)))
    assert below == []
