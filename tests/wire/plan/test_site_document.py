"""What is printed of a site adds up: settled margin, lasting gain and finish line are of one forecast and one statistic."""

from dataclasses import replace

import pytest

from collum.app.plans.planning import Planner
from collum.case.model import Reading
from collum.plan.lengthening.procedures.registry import PROCEDURES
from collum.wire.plan.document import ToothDocument
from tests.making.teeth import SITES, case_of, overgrown_premolar

DRAWS = 500
ROUNDED_MM = 2e-6  # each figure is rounded by itself


@pytest.fixture(scope="module")
def tooth() -> ToothDocument:
    """A tooth whose every route is tried, and offers lines: its walls are too thin for any."""
    walls = {site: (Reading(value_mm=1.0, step_mm=0.5),) for site in SITES}
    whole = overgrown_premolar(vital=False)
    return Planner(DRAWS).plan(case_of(replace(whole, readings={**whole.readings, "wall_thickness": walls})), seed=3).teeth[0]


@pytest.mark.parametrize("name", [one.id for one in PROCEDURES if not one.raises_margin])  # closed for this tooth
def test_what_is_printed_of_a_site_adds_up(tooth: ToothDocument, name: str) -> None:
    route = next(route for route in tooth.routes if route.name == name)
    assert (
        route.sites
        and route.rest_line is not None
        and route.rest_line_if is not None
        and route.finish_line_height_mm is not None
    )
    margin, settled, ends = tooth.levels.gingival_margin, route.rest_line.median_height_mm, route.rest_line
    assert margin is not None and settled is not None
    by_bone = name == "soft tissue and bone"
    assert settled == (
        route.rest_line_if.transferred_from_bone_surgery_height_mm if by_bone else route.rest_line_if.full_return_height_mm
    )
    for site in route.sites:
        i = tooth.stations_deg.index(site.station_deg)
        assert site.lasting_gain_mm == site.rest_below_margin_mm
        assert margin.mean_height_mm[i] - settled[i] == pytest.approx(site.rest_below_margin_mm, abs=ROUNDED_MM)
        assert route.finish_line_height_mm[i] - settled[i] == pytest.approx(site.finish_above_settled_margin_mm, abs=ROUNDED_MM)
        assert ends.p05_height_mm[i] <= settled[i] <= ends.p95_height_mm[i]
