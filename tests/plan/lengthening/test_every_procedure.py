"""What holds for every procedure of the registry, so that a new one is held to it too."""

from typing import get_args

import numpy as np
import pytest

from collum.cli.plan_commands import RouteOption
from collum.core.ring import STATIONS
from collum.plan import Prepared
from collum.plan.lengthening.procedures.procedure import Procedure, Treatment, after
from collum.plan.lengthening.procedures.registry import PROCEDURES, procedure_of
from collum.plan.safety import ROUTES as ROUTES_OF_GATE
from collum.vocabulary import ROUTES
from tests.making.teeth import healthy_premolar
from tests.measuring.exact import DRAWS, exact_neck

of_every_procedure = pytest.mark.parametrize("procedure", PROCEDURES, ids=lambda procedure: procedure.key)


def neck() -> Prepared:
    return exact_neck(healthy_premolar(), sulcus=2.5, crest=4.5, own_height=3.2, sound=1.0, cej=-2.0)


def treatment_by(procedure: Procedure, amount_mm: float = 1.2) -> Treatment:
    """A treatment that does something, where the procedure does anything but cut."""
    bone = np.full(STATIONS, amount_mm if procedure.takes_bone else 0.0)
    return Treatment(procedure=procedure, bone_mm=bone, extruded_mm=amount_mm if procedure.raises_tooth else 0.0)


def test_the_registry_has_every_route_in_the_order_of_its_burden() -> None:
    assert tuple(procedure.id for procedure in PROCEDURES) == ROUTES
    assert [procedure.burden for procedure in PROCEDURES] == sorted({procedure.burden for procedure in PROCEDURES})
    assert all(procedure_of(procedure.id) is procedure for procedure in PROCEDURES)


def test_each_has_a_name_on_the_command_line_and_each_operation_its_questions() -> None:
    assert [procedure.option for procedure in PROCEDURES] == list(get_args(RouteOption))
    asked = [procedure for procedure in PROCEDURES if procedure.safety_procedures]
    assert {operation: one.id for one in asked for operation in one.safety_procedures} == dict(ROUTES_OF_GATE)
    assert asked == [procedure for procedure in PROCEDURES if procedure.lengthens]
    assert len(ROUTES_OF_GATE) == sum(len(one.safety_procedures) for one in asked)


@of_every_procedure
def test_forecasts_are_in_the_draws_and_never_coronal_of_the_old_margin(procedure: Procedure) -> None:
    treatment = treatment_by(procedure)
    left = after(neck(), treatment)
    found = procedure.forecasts_mm(left, np.full(STATIONS, -0.8), treatment)
    assert 1 <= len(found) <= 2
    for forecast in found:
        assert forecast.shape == (STATIONS, DRAWS)
        assert forecast.max() <= 0


@of_every_procedure
@pytest.mark.parametrize("cut_mm", [-0.2, -0.9, -2.0])
@pytest.mark.parametrize("amount_mm", [0.0, 0.7, 1.6])
def test_what_the_solver_takes_for_the_settled_margin_is_the_forecast_of_the_draws(
    procedure: Procedure, cut_mm: float, amount_mm: float
) -> None:
    """Without doubt the law that is simulated and its bounds are one: the highest bound, never over the old margin."""
    treatment, cut = treatment_by(procedure, amount_mm), np.full(STATIONS, cut_mm if procedure.lengthens else 0.0)
    left = after(neck(), treatment)
    before = neck() if procedure.takes_bone else left
    bounds = procedure.settled_bounds(before, treatment)
    linear = np.minimum(np.max([b.mean_mm + b.on_cut * cut - b.on_bone * treatment.bone_mm for b in bounds], axis=0), 0)
    forecast = procedure.forecasts_mm(left, cut, treatment)[-1]
    np.testing.assert_allclose(forecast, np.repeat(linear[:, None], DRAWS, axis=1), atol=1e-9)


@of_every_procedure
def test_a_cause_that_still_acts_brings_the_margin_back_where_it_was(procedure: Procedure) -> None:
    treatment = Treatment(procedure=procedure, returns_whole=True)
    for forecast in procedure.forecasts_mm(neck(), np.full(STATIONS, -1.0), treatment):
        assert not forecast.any()
