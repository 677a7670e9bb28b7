"""What a restoration without a cut gives up: the least that lacks least in millimetres, and never more than there is."""

from typing import Any

import pytest

from collum.case import from_document
from collum.case.model import Tooth
from collum.plan import ToothPlan, plan_tooth
from collum.plan.lengthening.grounds import Concessions
from collum.plan.lengthening.procedures.conceding import concessions
from collum.plan.lengthening.requirements.rules import wishes_of
from collum.plan.lengthening.wishes import Wishes
from tests.making import clinic
from tests.measuring.necks import EVIDENCE, drawn_neck

WITHOUT = "restore without lengthening"


def planned(tooth: dict[str, Any]) -> ToothPlan:
    case = from_document(clinic.patient_with(tooth))
    return plan_tooth(case, 0, drawn_neck(case, 1_000))


def tooth_of(**facts: Any) -> tuple[Tooth, Wishes]:
    case = from_document(clinic.patient_with({**clinic.short_worn_molar(), **facts}))
    neck = drawn_neck(case, 20)
    return case.teeth[0], wishes_of(case.teeth[0], neck.inputs.thickness_mm, EVIDENCE, deep_sulcus=False)


def last(**facts: Any) -> tuple[Concessions, float]:
    """Return what is given up in the last step, and how much higher the preparation reaches than by less reduction."""
    tooth, wishes = tooth_of(**facts)
    thinned, final = (list(concessions(tooth, wishes, EVIDENCE.limits))[i] for i in (1, -1))
    return final.given_up, final.wishes.top_mm - thinned.wishes.top_mm


@pytest.mark.parametrize(
    ("facts", "opposing_mm", "bite_mm"),
    [
        ({}, None, None),  # more bite on one tooth alone is never asked
        ({"opposing_over_erupted_mm": 0.3}, 0.3, None),
        ({"opposing_over_erupted_mm": 0.5}, 0.5, None),
        ({"opposing_over_erupted_mm": 2.0}, 0.5, None),  # within enamel
        ({"opposing_over_erupted_mm": 0.0}, None, None),
        ({"bite_raise_mm": 0.4}, None, 0.4),
        ({"opposing_over_erupted_mm": 2.0, "bite_raise_mm": 0.4}, 0.5, 0.4),
        # Planned at today's edge and 1.0 mm reduced, the preparation reaches up to the tooth and no further without a core.
        ({"bite_raise_mm": 3.0}, None, 1.0),
        ({"bite_raise_mm": 3.0, "core": {"planned": True}}, None, 3.0),
        ({"opposing_over_erupted_mm": 2.0, "bite_raise_mm": 3.0}, 0.5, 0.5),
    ],
)
def test_a_higher_bite_is_no_more_than_there_is(facts: dict[str, Any], opposing_mm: float, bite_mm: float) -> None:
    given_up, higher_mm = last(**facts)
    assert given_up.opposing_mm == pytest.approx(opposing_mm)
    assert given_up.bite_mm == pytest.approx(bite_mm)
    assert higher_mm == pytest.approx((opposing_mm or 0) + (bite_mm or 0))
    assert given_up.bite_raised_mm == pytest.approx(higher_mm)


def test_reduction_falls_to_the_thinnest_surface_and_no_further() -> None:
    tooth, wishes = tooth_of()
    steps = list(concessions(tooth, wishes, EVIDENCE.limits))
    least = {step.wishes.reduction_mm for step in steps[1:]}
    assert (steps[0].wishes.reduction_mm, least) == (2.0, {1.0})
    thin, _ = tooth_of(restoration={"occlusal_reduction_mm": 0.5})
    reduced = wishes_of(
        thin,
        drawn_neck(from_document(clinic.patient_with(clinic.sound_molar())), 20).inputs.thickness_mm,
        EVIDENCE,
        deep_sulcus=False,
    )
    assert {step.wishes.reduction_mm for step in concessions(thin, reduced, EVIDENCE.limits)} == {0.5}


def test_what_is_given_up_is_said_with_what_it_gains_and_what_still_lacks() -> None:
    """A molar ground to 3.5 mm: with 1.0 mm less reduction and grooves it lacks less, and the sum of both is what lacked."""
    route = planned(clinic.short_worn_molar()).route(WITHOUT)
    assert route.gain is not None
    assert route.gain.gained_mm + route.gain.lacking_mm == pytest.approx(route.gain.lacked_mm)
    assert 0 < route.gain.gained_mm <= route.gain.lacked_mm


def test_more_bite_gains_what_it_gives_and_the_crown_ends_as_much_higher() -> None:
    plain, raised = (planned({**clinic.short_worn_molar(), **more}) for more in ({}, {"bite_raise_mm": 0.5}))
    given = raised.route(WITHOUT).concessions
    chances = [plan.route(WITHOUT).chance or 0 for plan in (plain, raised)]
    assert chances[1] >= chances[0]
    if given.bite_mm is not None:
        assert given.bite_mm == 0.5


def test_nothing_is_given_up_where_nothing_lacks() -> None:
    tall = clinic.sound_molar(45)
    route = planned(tall).route(WITHOUT)
    assert route.concessions == Concessions() and route.gain is None
