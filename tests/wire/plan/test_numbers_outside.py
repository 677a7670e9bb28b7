"""Numbers on their way out: sign, unit and rounding of routes and sites against the typed plan, and the way back in."""

import math
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import pytest

from collum.app.speaking import words
from collum.case.model import Held, Root, Tooth
from collum.core.ring import STATIONS_DEG
from collum.plan import ToothPlan, plan_tooth
from collum.plan.lengthening.procedures.lines import RoutePlan
from collum.plan.lengthening.requirements.situation import nearest_station
from collum.plan.lengthening.requirements.table import REQUIREMENTS
from collum.plan.lengthening.route import Route
from collum.plan.printed import PRINTED_DECIMALS
from collum.wire.plan.document import RouteDocument, SiteDocument, ToothDocument
from collum.wire.plan.to_document import tooth_document
from tests.making.teeth import broken_premolar, case_of, healthy_premolar, overgrown_premolar
from tests.measuring.necks import drawn_neck

DRAWS = 200
HALF_A_PLACE = 10.0**-PRINTED_DECIMALS
TEETH: dict[str, Tooth] = {
    "cut": overgrown_premolar(vital=False),
    "cut by hand": overgrown_premolar(vital=False, held=Held(cut={"F": -1.5}, finish={"L": -0.5})),
    "bone or movement": broken_premolar(root=Root(length_mm=17.0)),
    "next to nothing": healthy_premolar(),
    "nothing read of bone": replace(
        broken_premolar(), readings={k: v for k, v in broken_premolar().readings.items() if k != "bone_sounding"}
    ),
}
of_every_tooth = pytest.mark.parametrize("name", TEETH)


@cache
def planned(name: str) -> tuple[ToothPlan, ToothDocument]:
    case = case_of(TEETH[name])
    plan = plan_tooth(case, 0, drawn_neck(case, DRAWS))
    return plan, tooth_document(plan, words)


def routes(name: str) -> Iterator[tuple[ToothPlan, Route, RouteDocument]]:
    plan, document = planned(name)
    yield from ((plan, route, told) for route, told in zip(plan.routes, document.routes, strict=True))


def offered(name: str) -> Iterator[tuple[ToothPlan, Route, RoutePlan, RouteDocument]]:
    for plan, route, told in routes(name):
        if route.plan is not None:
            yield plan, route, route.plan, told


def same(found: float | list[float] | None, expected: Any) -> bool:
    return bool(found == pytest.approx(expected, abs=HALF_A_PLACE))


def test_every_route_offers_lines_for_some_of_the_teeth() -> None:
    assert len({route.name for name in TEETH for _, route, _, _ in offered(name)}) == 4


@of_every_tooth
def test_verdict_chance_and_its_word_are_those_of_the_plan(name: str) -> None:
    for plan, route, told in routes(name):
        assert (told.name, told.verdict, told.likelihood) == (route.name, route.verdict, route.likelihood)
        assert (told.likelihood is not None) <= (told.verdict == "in doubt")
        assert told.joint_probability == route.chance
        limits = plan.prepared.limits
        if told.likelihood is not None and told.joint_probability is not None:
            word = "probably" if told.joint_probability >= limits.probably_from else None
            word = "unlikely" if told.joint_probability < limits.unlikely_below else word
            assert told.likelihood == (word or "open")


@of_every_tooth
def test_lines_are_heights_in_the_frame_of_the_tooth(name: str) -> None:
    """A raised tooth takes its margin down: its lines are counted from there."""
    for plan, _, lines, told in offered(name):
        margin, down = plan.prepared.margin_mm, lines.treatment.extruded_mm
        assert same(told.cut_line_height_mm, margin - down + lines.cut_mm)
        assert same(told.finish_line_height_mm, margin - down + lines.finish_mm)
        assert same(told.removed_mm, -lines.cut_mm) and min(told.removed_mm or [0]) >= 0
        assert same(told.finish_above_margin_mm, lines.finish_mm - down)
        assert same(told.bone_reduction_mm, lines.treatment.bone_mm) and min(told.bone_reduction_mm or [0]) >= 0
        if told.crest_after_height_mm is not None and told.bone_reduction_mm is not None:
            before = margin - plan.prepared.crest_depth_mm.mean(axis=1)
            assert same(told.crest_after_height_mm, before - np.array(told.bone_reduction_mm) - down)


@of_every_tooth
def test_a_depth_at_a_site_counts_apically_from_the_margin_and_a_reserve_from_what_it_keeps(name: str) -> None:
    for plan, route, lines, told in offered(name):
        for site in told.sites:
            _assert_site(plan, route, lines, site)


def _assert_site(plan: ToothPlan, route: Route, lines: RoutePlan, site: SiteDocument) -> None:
    neck, i = plan.prepared, nearest_station(site.station_deg)
    assert STATIONS_DEG[i] == site.station_deg
    done, down = lines.treatment, lines.treatment.extruded_mm
    cut, finish = lines.cut_mm[i] - down, lines.finish_mm[i] - down
    assert same(site.stop_below_margin_mm, -lines.cut_mm[i]) and site.stop_below_margin_mm >= 0
    assert same(site.attachment_below_margin_mm, neck.sulcus_mm[i].mean())
    assert same(site.bone_reduction_mm, done.bone_mm[i])
    if neck.occlusal_edge_mm is not None and site.stop_below_landmark_mm is not None:
        assert same(site.stop_below_landmark_mm, neck.occlusal_edge_mm[i].mean() - cut)
    assert same(site.finish_above_settled_margin_mm, finish + site.rest_below_margin_mm)
    crest = neck.crest_depth_mm[i].mean()
    from_bone = (site.bone_below_margin_mm, site.reserve_cut_to_bone_mm, site.reserve_finish_line_to_crest_mm)
    if "bone_sounding" not in neck.inputs.tooth.readings:
        assert from_bone == (None, None, None)
        return
    bevel = plan.wishes.bevel_mm[i] if site.cut else 0
    after = crest + done.bone_mm[i] + down
    assert same(site.bone_below_margin_mm, crest) and (site.bone_nearest_below_margin_mm or 0) <= crest
    assert same(site.crest_after_below_margin_mm, after)
    assert same(site.reserve_cut_to_bone_mm, cut - bevel + after)
    assert same(site.reserve_finish_line_to_crest_mm, finish + after)
    assert route.forecast is not None and same(site.lasting_gain_mm, route.forecast.lasting_gain_mm[i])


@of_every_tooth
def test_the_ledger_of_a_site_adds_up(name: str) -> None:
    for _, _, _, told in offered(name):
        for site in told.sites:
            amounts = {row.item: row.amount_mm for row in site.ledger}
            spare = amounts.pop("spare")
            if spare is not None:
                total = sum(mm for mm in amounts.values() if mm is not None)
                assert total == pytest.approx(spare, abs=len(amounts) * HALF_A_PLACE)  # each of them is rounded


@of_every_tooth
def test_a_rule_is_told_in_its_unit_with_what_it_lacks_in_millimetres_only_where_it_has_that_unit(name: str) -> None:
    at_most = {requirement.id for requirement in REQUIREMENTS if requirement.at_most}
    for _, _, lines, told in offered(name):
        assert len(told.requirements) == len(REQUIREMENTS)
        for row in told.requirements:
            graded = lines.assessment.graded.get(row.id)
            assert (row.value is not None) == (graded is not None)
            assert row.short_by_mm == (row.short_by if row.unit == "mm" else None)
            assert (row.short_by is None) == (row.verdict not in ("short", "in doubt"))
            if graded is None or row.value is None or row.limit is None:
                continue
            assert row.verdict == graded.verdict and same(row.probability, graded.probability)
            spare = row.limit - row.value if row.id in at_most else row.value - row.limit
            if row.verdict == "kept":
                assert spare >= 0, row.id


@of_every_tooth
def test_bone_beside_the_neighbour_is_what_is_taken_between_the_teeth(name: str) -> None:
    for _, route, told in routes(name):
        bone = np.zeros(36) if route.plan is None else route.plan.treatment.bone_mm
        assert same(told.summary.bone_neighbour_mm, max(bone[9], bone[27]))
        at_sites = bone if route.plan is None else bone[route.plan.sites]  # where it is printed, in whole steps
        assert same(told.summary.bone_most_mm, at_sites.max())


@of_every_tooth
def test_every_number_is_rounded_once_and_comes_back_as_it_left(name: str) -> None:
    _, document = planned(name)
    assert ToothDocument.model_validate_json(document.model_dump_json()) == document
    said = document.model_dump(exclude={"routes": {"__all__": {"closed_by", "explanation", "means", "staged", "requirements"}}})
    for number in _numbers(said):
        assert math.isfinite(number)
        assert number != 0 or math.copysign(1, number) > 0  # no minus at zero


def _numbers(document: Any) -> Iterator[float]:
    if isinstance(document, dict):
        for held in document.values():
            yield from _numbers(held)
    elif isinstance(document, list):
        for held in document:
            yield from _numbers(held)
    elif isinstance(document, float):
        yield document


@of_every_tooth
def test_a_line_is_printed_to_the_places_that_are_judged(name: str) -> None:
    for _, _, _, told in offered(name):
        for line in (told.cut_line_height_mm, told.finish_line_height_mm, told.bone_reduction_mm):
            assert line is not None and all(mm == round(mm, PRINTED_DECIMALS) for mm in line)
