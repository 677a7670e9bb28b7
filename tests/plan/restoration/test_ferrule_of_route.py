"""The ferrule of a route counts the wall that the axial reduction leaves."""

from dataclasses import replace

import pytest

from collum.plan.restoration.basis import basis_of
from collum.plan.restoration.ferrule import ferrule_of
from collum.plan.restoration.route_draws import route_draws
from tests.making.teeth import broken_premolar
from tests.measuring.planned import planned_of

WALL_MM = 2.5  # of the tooth, all round


@pytest.mark.parametrize("axial_mm", [0.5, 1.2])
def test_the_wall_that_is_left_is_less_by_the_axial_reduction(axial_mm: float) -> None:
    planned = planned_of(broken_premolar())
    planned = replace(planned, wishes=replace(planned.wishes, axial_reduction_mm=axial_mm))
    basis = basis_of(planned, next(route for route in planned.routes if route.lines is not None))
    left = [sector.wall_left_mm for sector in ferrule_of(basis, route_draws(basis)).map.sectors]
    assert left == pytest.approx([WALL_MM - axial_mm] * len(left))
