"""What more doubt, a larger wish, a deeper edge or a lower crest may do to a verdict, and what it may not."""

from collections.abc import Mapping
from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest

from collum.case.model import Reading, RequirementWish, Tooth
from collum.case.reading_kinds import ReadingKind
from collum.plan import ToothPlan, plan_tooth
from collum.plan.lengthening.procedures.lines import judge_lines
from collum.plan.lengthening.procedures.procedure import Treatment, after
from collum.plan.lengthening.procedures.registry import procedure_of
from collum.plan.lengthening.requirements.assessment import Assessment
from collum.plan.lengthening.requirements.rules import wishes_of
from collum.vocabulary import RouteName
from tests.making.teeth import SITES, broken_premolar, case_of, healthy_premolar, readings
from tests.measuring.necks import drawn_neck

DRAWS = 1_000
ERROR = 3 * np.sqrt(2 * 0.25 / DRAWS)  # three standard errors of the difference of two chances
RANK = {"closed": 0, "short": 1, "not assessed": 2, "in doubt": 3, "kept": 4, "not needed": 5}
ROUND = ("F", "L", "MF", "DL", "ML", "DF")  # in the order in which places are added
BETWEEN = ("M", "D")


def judged(tooth: Tooth, route: RouteName, *, cut_mm: float = 0, finish_mm: float = 0, bone_mm: float = 0) -> Assessment:
    """The assessment of lines that are the same all round."""
    before = drawn_neck(case_of(tooth), DRAWS)
    treatment = Treatment(procedure=procedure_of(route), bone_mm=np.full(36, bone_mm))
    wishes = wishes_of(tooth, before.inputs.thickness_mm, before.evidence, deep_sulcus=False)
    lines = np.full(36, cut_mm), np.full(36, finish_mm)
    return judge_lines(after(before, treatment), wishes, *lines, treatment).assessment


def chances(found: Assessment) -> dict[str, float]:
    return {name: g.probability for name, g in found.graded.items() if g is not None}


def with_readings(tooth: Tooth, kind: ReadingKind, values: Mapping[str, float]) -> Tooth:
    sites = (*tooth.sites, *(site for site in values if site not in tooth.sites))
    return replace(tooth, sites=sites, readings={**tooth.readings, kind: readings(values)})


@pytest.mark.parametrize(
    ("kind", "height_mm"),
    [
        ("crown_height", 5.1),
        ("sound_height", 0.6),
        ("keratinised_width", 4.2),
        ("cej_height", -1.0),
        ("probing_depth", 2.0),
        ("bone_sounding", 4.0),
    ],
)
def test_reading_more_places_of_equal_height_takes_no_met_rule_away(kind: ReadingKind, height_mm: float) -> None:
    """From one place to six, and to eight: what was not read takes part with its doubt, so that more can only add."""
    met: dict[str, float] = {}
    for count in (1, 2, 4, 6, 8):
        sites = (*ROUND, *BETWEEN)[:count]
        tooth = with_readings(healthy_premolar(), kind, dict.fromkeys(sites, height_mm))
        now = chances(judged(tooth, "soft tissue only", cut_mm=-0.3))
        lost = {name: (chance, now[name]) for name, chance in met.items() if now[name] < chance - ERROR}
        assert not lost, (count, lost)
        met = {name: chance for name, chance in now.items() if chance >= 0.9}
    assert len(met) > 3


def test_an_edge_read_once_is_not_surer_than_one_read_all_round() -> None:
    """4.6 mm of edge over a line at the margin, 3.0 mm wanted after 1.5 mm of reduction: met at the one place that was read."""
    once, round_ = (
        chances(judged(with_readings(healthy_premolar(), "crown_height", dict.fromkeys(sites, 4.8)), "soft tissue only"))
        for sites in (("F",), SITES)
    )
    assert once["preparation_height"] < round_["preparation_height"] - 0.1


def test_a_low_edge_read_between_the_sites_is_not_passed_over() -> None:
    even = dict.fromkeys((*SITES, "D"), 5.5)
    low = {**even, "D": 3.5}
    found = [chances(judged(with_readings(healthy_premolar(), "crown_height", v), "soft tissue only")) for v in (even, low)]
    assert found[0]["preparation_height"] > 0.85
    assert found[1]["preparation_height"] < 0.5


@lru_cache(maxsize=16)
def planned(deeper_mm: float = 0, name: str = "ferrule", limit: float | None = None, sure: float | None = None) -> ToothPlan:
    """The plan of a broken tooth: its sound edge deeper, a limit of the dentist's own, or a confidence."""
    tooth = broken_premolar(requirements=(RequirementWish(id=name, limit=limit, confidence=sure, reason="test"),))
    sound: dict[str, tuple[Reading, ...]] = {
        site: tuple(replace(r, value_mm=r.value_mm - deeper_mm) for r in found if r.value_mm is not None)
        for site, found in tooth.readings["sound_height"].items()
    }
    tooth = replace(tooth, readings={**tooth.readings, "sound_height": sound})
    case = case_of(tooth)
    return plan_tooth(case, 0, drawn_neck(case, DRAWS))


def assert_no_better(plans: list[ToothPlan]) -> None:
    for less, more in zip(plans, plans[1:], strict=False):
        for route in less.routes:
            assert RANK[more.route(route.name).verdict] <= RANK[route.verdict], route.name


def test_a_deeper_sound_edge_never_improves_a_verdict() -> None:
    assert_no_better([planned(deeper_mm=mm) for mm in (-2.5, -1.0, 0.0, 1.0, 2.0)])


@pytest.mark.parametrize(
    ("name", "limits"),
    [
        ("ferrule", (0.5, 1.5, 2.5)),
        ("preparation_height", (2.0, 3.5, 5.0)),
        ("keratinised_tissue_left", (1.0, 3.0, 5.0)),
        ("crown_to_root", (2.0, 1.5, 1.0)),  # at most
        ("attached_area", (0.3, 0.5, 0.8)),
    ],
)
def test_a_larger_wish_never_improves_a_verdict(name: str, limits: tuple[float, ...]) -> None:
    assert_no_better([planned(name=name, limit=limit) for limit in limits])


def test_on_given_lines_a_larger_wish_makes_no_rule_likelier() -> None:
    lines = {"cut_mm": -0.8, "finish_mm": -1.0, "bone_mm": 1.0}
    larger = {
        "clear_of_bone": (1.0, 1.5),
        "clear_of_crest": (2.5, 3.5),
        "ferrule": (1.0, 2.0),
        "preparation_height": (2.0, 4.0),
        "keratinised_tissue_left": (1.0, 3.0),
        "attached_area": (0.3, 0.8),
        "crown_to_root": (2.0, 1.0),  # at most
    }
    found = []
    for place in (0, 1):
        own = tuple(RequirementWish(id=name, limit=limits[place], reason="test") for name, limits in larger.items())
        found.append(chances(judged(broken_premolar(requirements=own), "soft tissue and bone", **lines)))
    less, more = found
    assert less.keys() == more.keys() >= larger.keys()
    assert {name: more[name] for name in more if more[name] > less[name]} == {}
    assert sum(more[name] < less[name] for name in larger) >= 3


@pytest.mark.parametrize("name", ["ferrule", "definitive_finish_line"])
def test_asking_to_be_surer_never_improves_a_verdict(name: str) -> None:
    assert_no_better([planned(name=name, sure=confidence) for confidence in (0.7, 0.9, 0.97)])


def one_sided(sites: tuple[str, ...] = SITES, number: int = 45) -> ToothPlan:
    """The plan of a tooth that is lower on its distal side, with its sites typed in an order."""
    low = {"F": 1.0, "MF": 1.5, "ML": 1.0, "L": 0.5, "DL": -1.0, "DF": -0.5}
    case = case_of(replace(with_readings(broken_premolar(), "sound_height", low), sites=sites, number=number))
    return plan_tooth(case, 0, drawn_neck(case, DRAWS))


def test_the_side_of_the_mouth_moves_no_verdict() -> None:
    """Angles run from facial over mesial on every tooth."""
    right, left = one_sided(), one_sided(number=35)
    for route in right.routes:
        assert (left.route(route.name).verdict, left.route(route.name).chance) == (route.verdict, route.chance)


def test_the_order_in_which_sites_are_typed_moves_no_chance_beyond_the_error_of_the_draws() -> None:
    typed, turned = one_sided(), one_sided(SITES[::-1])
    for route in typed.routes:
        other = turned.route(route.name)
        assert (other.plan is None) == (route.plan is None)
        found, again = ({} if one.plan is None else chances(one.plan.assessment) for one in (route, other))
        assert again == pytest.approx(found, abs=ERROR), route.name


def test_a_more_apical_crest_helps_clearance_and_never_support() -> None:
    tooth = healthy_premolar()
    found = []
    for lower_mm in (0.0, 0.5, 1.0, 2.0):
        depths = {site: mm + lower_mm for site, mm in zip(SITES, (3.5, 4.0, 4.0, 3.5, 4.0, 4.0), strict=True)}
        lines = {"cut_mm": -0.5, "finish_mm": -1.5, "bone_mm": 1.0}
        found.append(chances(judged(with_readings(tooth, "bone_sounding", depths), "soft tissue and bone", **lines)))
    for less, more in zip(found, found[1:], strict=False):
        assert all(more[name] >= less[name] - ERROR for name in ("clear_of_crest", "clear_of_bone"))
        assert all(more[name] <= less[name] + ERROR for name in ("crown_to_root", "attached_area"))
    assert found[-1]["clear_of_crest"] > found[0]["clear_of_crest"]
    assert found[-1]["crown_to_root"] < found[0]["crown_to_root"]
