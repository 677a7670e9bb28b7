"""What a plan says of itself points where help is: a thin wall, a line held by hand, a finding that is in doubt."""

from dataclasses import replace

import pytest

from collum.app.plans.planning import Planner
from collum.case.model import Held, Reading, Tooth
from collum.evidence import value
from collum.wire.plan.document import RouteDocument, ToothDocument
from tests.making.teeth import SITES, case_of, healthy_premolar, overgrown_premolar, readings, row

DRAWS = 500


def planned(tooth: Tooth) -> ToothDocument:
    return Planner(DRAWS).plan(case_of(tooth), seed=3).teeth[0]


def with_walls(wall_mm: float, axial_mm: float, **changes: object) -> Tooth:
    tooth = overgrown_premolar(vital=False, **changes)
    walls = {site: (Reading(value_mm=wall_mm, step_mm=0.5),) for site in SITES}
    return replace(
        tooth,
        readings={**tooth.readings, "wall_thickness": walls},
        restoration=replace(tooth.restoration, axial_reduction_mm=axial_mm),
    )


def route(tooth: ToothDocument, name: str) -> RouteDocument:
    return next(one for one in tooth.routes if one.name == name)


def test_a_wall_left_too_thin_is_named_and_no_height_is_asked_for() -> None:
    found = planned(with_walls(1.5, 1.2))
    for name in ("soft tissue only", "soft tissue and bone", "extrusion first"):
        closed = route(found, name).closed_by
        assert closed is not None and closed.reason.key == "plan.closing.thin_wall"
        assert closed.least_change is not None and "height does not help" in closed.least_change.text
        assert closed.short_by == pytest.approx(value("plan.limit.wall_thickness_mm") - 0.3)
        ferrule = next(row for row in route(found, name).requirements if row.id == "ferrule")
        assert ferrule.reason.key == "plan.reason.thin_wall" and "0.3 mm of wall" in ferrule.reason.text
    assert "plan.remains.thicker_wall" in [sentence.key for sentence in found.last_resort]


def test_a_wall_that_is_left_thick_enough_is_not_the_reason() -> None:
    found = planned(with_walls(3.0, 1.2))
    assert all(one.closed_by is None or one.closed_by.reason.key != "plan.closing.thin_wall" for one in found.routes)


def test_a_line_held_too_deep_asks_for_no_greater_route() -> None:
    free = planned(overgrown_premolar(vital=False))
    assert route(free, "soft tissue only").verdict in ("kept", "in doubt")
    held = planned(overgrown_premolar(vital=False, held=Held(cut={"F": -4.4})))
    assert route(held, "soft tissue only").verdict == "short"
    for name in ("soft tissue and bone", "extrusion first"):
        assert route(held, name).verdict == "not needed"
        assert route(held, name).explanation[0].key == "plan.explain.held_line"
    assert held.recommended_route is None or held.recommended_route == "restore without lengthening"
    if held.recommended_route is None:
        assert held.recommended_because.key == "plan.recommended.held_line"


def test_a_held_line_does_not_hide_that_soft_tissue_alone_does_not_do() -> None:
    kinds = overgrown_premolar().readings
    low = {**kinds, "sound_height": readings(row(-1.0, -1.5, -1.5, -1.0, -2.5, -2.5))}
    held = planned(overgrown_premolar(vital=False, readings=low, held=Held(cut={"F": -1.0})))
    assert route(held, "soft tissue only").verdict == "short"
    assert route(held, "soft tissue and bone").verdict not in ("not needed",)


def test_a_doubt_that_no_rule_shows_is_told_where_the_route_is_recommended() -> None:
    kinds = overgrown_premolar().readings
    high = {
        **kinds,
        "sound_height": readings(row(4.5, 3.5, 3.5, 4.5, 3.0, 3.0)),
        "crown_height": readings(row(8, 8, 8, 8, 8, 8)),
    }
    found = planned(overgrown_premolar(vital=False, readings=high))
    best = next(one for one in found.routes if one.name == found.recommended_route)
    assert best.verdict == "in doubt"
    assert {row.verdict for row in best.requirements if row.required} <= {"kept", "not needed"}
    assert found.recommended_because.key == "plan.recommended.doubt_left"
    assert "Wall thickness is not entered" in found.recommended_because.text


def test_the_limit_beside_a_value_is_that_of_its_place() -> None:
    """A ferrule is asked where the load acts; elsewhere only that the line lies on sound tooth."""
    found = planned(overgrown_premolar(vital=False))
    seen = set()
    for one in found.routes:
        for row_ in one.requirements:
            if row_.id == "ferrule" and row_.value is not None:
                seen.add(row_.limit)
                if row_.verdict == "kept":
                    assert row_.limit is not None and row_.value >= row_.limit - 0.05
    assert seen <= {0.0, value("plan.limit.ferrule_mm")}


def test_a_sounding_that_does_not_fit_is_named_where_it_was_read_though_another_met_no_bone() -> None:
    """Soundings that met no bone cannot be odd; they do not shift those that can."""
    kinds = healthy_premolar().readings
    soundings = {
        **kinds["bone_sounding"],
        "F": (Reading(value_mm=3.0, step_mm=0.5, outcome="beyond"),),
        **readings({"L": (3.5, 1.0)}),
    }
    found = planned(healthy_premolar(readings={**kinds, "bone_sounding": soundings}))
    assert [(odd.site, odd.position, odd.value_mm) for odd in found.odd_readings] == [("L", 1, 1.0)]


@pytest.mark.parametrize(("past_mm", "cut"), [(0.01, True), (-0.01, False)])
def test_a_site_is_cut_from_the_least_cut_on_that_the_plan_counts(past_mm: float, cut: bool) -> None:
    planner, case = Planner(DRAWS), case_of(overgrown_premolar(vital=False))
    margin = planner.plan(case, seed=3).teeth[0].levels.gingival_margin.mean_height_mm
    line = [height - value("plan.least_cut_mm") - past_mm for height in margin]
    found = planner.judge(case, tooth=0, cut_line_mm=line, finish_line_mm=margin, seed=3)
    assert [site.cut for site in found.sites] == [cut] * len(SITES)
