"""Limits of the plan are handed in: each one shifted moves an answer, and draws that were kept serve any of them."""

from dataclasses import replace

import numpy as np
import pytest

from collum.app.demo import demo_cases
from collum.app.plans.planning import Planner
from collum.app.speaking import words
from collum.case import from_document
from collum.case.model import Case, FinishWish, Overgrowth, Patient, Restoration, Root, Tooth
from collum.case.parts import patient_facts, tooth_facts
from collum.core.ring import STATIONS
from collum.evidence.handed import Evidence
from collum.plan import plan_tooth, prepare
from collum.plan.lengthening.choice import remains, staging
from collum.plan.lengthening.choice.burdens import Circumstances, burden_of, least_chance
from collum.plan.lengthening.choice.choice import recommendation
from collum.plan.lengthening.choice.staging import staged_start
from collum.plan.lengthening.procedures.procedure import Treatment
from collum.plan.lengthening.procedures.registry import procedure_of
from collum.plan.lengthening.procedures.without_lengthening import WITHOUT_LENGTHENING
from collum.plan.lengthening.requirements.resistance import resisting_bases_mm
from collum.plan.lengthening.requirements.rules import wishes_of
from collum.vocabulary import RouteName
from collum.wire.plan.to_document import tooth_document
from tests.app.test_draws_kept import CASES, DRAWS, SEED, same_neck, shifted, shown
from tests.making import clinic
from tests.making.teeth import broken_premolar, healthy_premolar, overgrown_premolar, readings, row
from tests.measuring.necks import EVIDENCE

MOVES_NO_PLAN = {
    "plan.at_the_margin_most_mm",  # what a file means by "at the margin", asked for when it is read
    "plan.solver.tolerance_mm",  # whether an answer of the solver is believed, never which
    "plan.hand.check",  # whether a line is said to be beyond a hand, never which line is made
    "plan.groove_base_share",  # another side binds in these cases: seen by itself below
    "plan.support_little_ratio",  # the norm of these teeth is asked first: seen in the tests of the diagnosis
    "plan.limit.ferrule_least_mm",  # asked only where nothing is left: seen by itself below
    # They weigh a recommendation, which these cases leave as it is: seen by themselves below.
    "plan.advice.between_teeth_half_width_deg",
    "plan.advice.burden.elevation",
    "plan.advice.burden.bone",
    "plan.advice.burden.bone_visible",
    "plan.advice.burden.extrusion",
    "plan.advice.burden.extrusion_visible_one_root",
    "plan.advice.burden.gum",
    "plan.advice.burden.replacement",
    "plan.advice.least.gum_for_looks",
    "plan.advice.least.without_cutting",
    "plan.advice.staged_keratinised_mm",
}
BOX_ORDER = ("F", "MF", "M", "ML", "L", "225", "235", "D", "305", "315")
BOX_SOUND = (3.0, 3.0, 3.0, 3.0, 3.0, 2.5, -1.5, -1.5, -1.5, 2.5)
HIDDEN = FinishWish(position="in the sulcus", mm=0.5, low_mm=-0.5, high_mm=0.0)


def everywhere(mm: float) -> dict[str, float | tuple[float, ...]]:
    return row(*[mm] * 6)


def read_as(tooth: Tooth, *unread: str, **heights_mm: dict[str, float | tuple[float, ...]]) -> Case:
    """A case of the tooth with other readings."""
    kinds = {**tooth.readings, **{kind: readings(mm) for kind, mm in heights_mm.items()}}
    kept = {kind: sites for kind, sites in kinds.items() if kind not in unread}
    return Case(patient=Patient(reference="A-3"), teeth=(replace(tooth, readings=kept),))  # type: ignore[arg-type]  # kinds


def molar_that_shows() -> Case:
    """Without root, trunk or junction; it shows, with contact points and a mirror tooth."""
    facts = tooth_facts({"contact_point_mm": {"mesial": 1.5, "distal": 3.0}})
    seen = Restoration(visible_zone=True, finish=HIDDEN)
    tooth = broken_premolar(number=46, root=Root(), restoration=seen, facts=facts)
    sound = row(-1.0, -0.5, -0.5, -1.0, -0.5, -0.5)
    return read_as(tooth, "cej_height", "wall_thickness", sound_height=sound, crown_height=everywhere(3.0))


def molar_with_trunk() -> Case:
    tooth = broken_premolar(number=46, root=Root(length_mm=14.0, trunk_mm=3.0))
    return read_as(tooth, "wall_thickness", crown_height=everywhere(4.0), sound_height=everywhere(1.0))


def low_molar() -> Case:
    """All that is short of it is the height of the preparation."""
    tooth = healthy_premolar(vital=False, number=46, restoration=Restoration(occlusal_reduction_mm=1.5))
    return read_as(tooth, crown_height=everywhere(4.6), sound_height=everywhere(4.0))


def sunken() -> Case:
    """Broken off far under the gum, on a short root with thin walls."""
    sound = row(-3.5, -3.0, -3.0, -3.5, -3.0, -3.0)
    return read_as(broken_premolar(root=Root(length_mm=7.0)), wall_thickness=everywhere(1.8), sound_height=sound)


def defect() -> Case:
    depths, sounding = everywhere(2.0) | {"ML": 3.0}, everywhere(3.0) | {"ML": 6.2}
    return read_as(broken_premolar(), probing_depth=depths, bone_sounding=sounding, cej_height=everywhere(-0.5))


def lost(depth_mm: float, sounding_mm: float) -> Case:
    """Depth or crest under the junction is just short of what counts as loss."""
    deep, sound = everywhere(depth_mm), everywhere(sounding_mm)
    return read_as(broken_premolar(), probing_depth=deep, bone_sounding=sound, cej_height=everywhere(0.0))


def deep() -> Case:
    sound, crest = row(0.5, 0.0, 0.0, 0.5, -1.0, -1.0), row(3.5, 4.0, 4.0, 3.5, 5.0, 5.0)
    return read_as(overgrown_premolar(vital=False), sound_height=sound, bone_sounding=crest)


def even() -> Case:
    """Bone surgery is about as likely as it has to be to be recommended."""
    return read_as(broken_premolar(), sound_height=everywhere(0.7))


def beside_its_mirror(mirror_mm: float, *, high: bool = True) -> Case:
    """An upper front tooth whose mirror tooth is healthy, with its margin just as far over the junction as it has to be."""
    known = {"mirror_margin_mm": mirror_mm, "mirror_healthy": True, "mirror_above_cej_mm": 1.0}
    seen = Restoration(visible_zone=True)
    tooth = healthy_premolar(vital=False, number=11, restoration=seen, facts=tooth_facts(known))
    deep = everywhere(-3.0)
    case = read_as(tooth, crown_height=everywhere(10.0), sound_height=everywhere(9.0), cej_height=deep)
    patient = replace(case.patient, facts=patient_facts({"smile_line": "high" if high else "middle"}))
    return replace(case, patient=patient)


def passive_eruption() -> Case:
    """A crest as near to the junction as it may be."""
    tooth = overgrown_premolar(overgrowth=Overgrowth(cause="altered passive eruption"))
    return read_as(tooth, bone_sounding=everywhere(5.0), cej_height=everywhere(-4.0))


def with_facts(**facts: object) -> Case:
    return read_as(healthy_premolar(facts=tooth_facts(facts)))


def narrow() -> Case:
    """One place that is deep enough for a crack, and narrow enough."""
    return read_as(healthy_premolar(), "cej_height", probing_depth=row(3.0, 3.0, 3.0, 3.0, 6.0, 3.0))


def near_bone(read_on: str = "2026-04-12") -> Case:
    """A crown margin that bleeds 2.4 mm from the crest at F, and one at L that does 2.9 mm from it."""
    facts = {
        "restoration_margin_mm": {"F": -1.1, "L": -0.6},
        "hygiene_phase": {"ended_on": "2026-03-01", "read_on": read_on},
    }
    return read_as(healthy_premolar(facts=tooth_facts(facts), bleeding=frozenset({"F", "L"}), plaque_percent=10))


def box(over_bone_mm: float = 4.5, **sound: float) -> Case:
    """A box 1.5 mm under the gum that is raised with composite, its seat as narrow as may be. `sound`: other places."""
    heights = dict(zip(BOX_ORDER, BOX_SOUND, strict=True)) | sound
    depth = over_bone_mm + 1.5
    sites = {
        "sound_height": list(heights.values()),
        "bone_sounding": [3.5, 4.0, 4.0, 4.0, 3.5, *[depth] * 5],
        "probing_depth": [2.0, 2.5, 2.5, 2.5, 2.0, *[min(3.0, depth - 1.5)] * 5],
    }
    seat = {"dentine_seat_mm": {"distal": 1.0}, "proximal_crest_from_film_mm": {"distal": depth}}
    return from_document(clinic.patient_with(clinic.deep_box(sites=sites, **seat)))


def covered_root_filled() -> Case:
    """High enough for ceramic over its cusps."""
    walls = {"wall_thickness": [2.5] * 6}
    return from_document(clinic.patient_with(clinic.sound_molar(vital=False, dam_and_matrix="dry", sites=walls)))


def demo(reference: str) -> Case:
    return next(case for case in demo_cases() if case.patient.reference == reference)


def over_bone() -> Case:
    """A shallow sulcus with bone close under it: a cut is tried again where it comes near."""
    junction = row(0.0, -0.5, -0.5, 0.0, -0.5, -0.5)
    return read_as(broken_premolar(), probing_depth=everywhere(2.2), bone_sounding=everywhere(3.4), cej_height=junction)


PLANNED = {
    "back": CASES["back"],
    "front": CASES["front"],
    "shown": shown(),
    "molar that shows": molar_that_shows(),
    "molar with trunk": molar_with_trunk(),
    "low molar": low_molar(),
    "sunken": sunken(),
    "plaque": read_as(broken_premolar(plaque_percent=21)),
    "bleeding": with_facts(bleeding_percent=26),
    "box": box(),
    "wide box": box(**{"225": -1.5}),
    "box beside the side": box(**{"225": -1.5, "D": 2.5, "305": 2.5}),
    "box near bone": box(over_bone_mm=2.0),
    "covered": from_document(clinic.patient_with(clinic.low_crown())),
    "covered, root-filled": covered_root_filled(),
    "opposing": demo("AQ-44"),
    "canal": with_facts(canal={"filling_short_mm": 2.1, "open_to_saliva_months": 3.1, "lesion_mm": 5.0}),
    "narrow": narrow(),
    "near bone": near_bone(),
    "near bone after 4 weeks": near_bone("2026-03-29"),
    "near bone after 8 weeks": near_bone("2026-04-26"),
    "post lost": with_facts(old_stump={"post": True}, old_crown={"failures": 2}),
    "less root": read_as(healthy_premolar(root=Root(length_mm=10.0))),
    "little root": read_as(healthy_premolar(root=Root(length_mm=8.3))),
    "defect": defect(),
    "depth lost": lost(2.8, 2.9),
    "crest lost": lost(1.0, 2.9),
    "deep": deep(),
    "even": even(),
    "looks longer": beside_its_mirror(3.5),
    "mirror": beside_its_mirror(-1.0),
    "mirror, smile not high": beside_its_mirror(-1.5, high=False),
    "worked": demo("AQ-60"),
    "passive eruption": passive_eruption(),
    "over bone": over_bone(),
    "staged": Case(patient=Patient(reference="A-4"), teeth=(overgrown_premolar(vital=False),)),
}
# The case by which a limit is seen where the first three do not show it.
SEEN_BY = {
    "plan.aim_above_crest_mm": "deep",
    "plan.advice.least.bone_or_extrusion": "even",
    "plan.attachment_loss_mm": "depth lost",
    "plan.axial_reduction_mm": "sunken",
    "plan.bleeding_limit_percent": "bleeding",
    "plan.coverage.above_gum_mm": "covered",
    "plan.coverage.ceramic_mm": "covered, root-filled",
    "plan.coverage.cusp_root_filled_mm": "covered, root-filled",
    "plan.coverage.cusp_vital_mm": "covered",
    "plan.coverage.enamel_share": "covered",
    "plan.coverage.metal_mm": "covered",
    "plan.coverage.wall_height_mm": "covered",
    "plan.coverage.walls_share": "covered",
    "plan.crack_deeper_mm": "narrow",
    "plan.crack_probing_mm": "narrow",
    "plan.crest_below_cej_mm": "crest lost",
    "plan.crown_to_root_said_up_to": "sunken",
    "plan.elevation.arc_most_deg": "wide box",
    "plan.elevation.off_side_deg": "box beside the side",
    "plan.elevation.raised_least_mm": "box",
    "plan.elevation.raised_most_mm": "box",
    "plan.elevation.seat_closed_below_mm": "box near bone",
    "plan.elevation.seat_width_mm": "box",
    "plan.elevation.known.bleeding_of_ten": "box",
    "plan.elevation.known.bleeding_patients": "box",
    "plan.elevation.known.longest_years": "box",
    "plan.elevation.known.mean_months": "box",
    "plan.elevation.known.survival_percent": "box",
    "plan.extrusion_most_mm": "sunken",
    "plan.healthy_crest_below_cej_sd_mm": "molar that shows",
    "plan.hygiene_checked.from_weeks": "near bone after 4 weeks",
    "plan.hygiene_checked.to_weeks": "near bone after 8 weeks",
    "plan.ferrule_arc_deg": "deep",
    "plan.hand.bone_width_mm": "box near bone",
    "plan.limit.furcation_to_margin_mm": "molar with trunk",
    "plan.limit.preparation_height_molar_mm": "molar with trunk",
    "plan.limit.preparation_height_with_grooves_mm": "low molar",
    "plan.limit.wall_thickness_mm": "sunken",
    "plan.mirror_margin_above_cej_mm": "looks longer",
    "plan.limit.visible_difference_high_smile_mm": "mirror",
    "plan.limit.visible_difference_mm": "mirror, smile not high",
    "plan.limit.keratinised_tissue_in_front_mm": "worked",
    "plan.passive_eruption_crest_mm": "passive eruption",
    "plan.near_bone_spreads": "over bone",
    "plan.lesion_waits_mm": "canal",
    "plan.near_bone_likely_mm": "near bone",
    "plan.near_bone_possible_mm": "near bone",
    "plan.open_to_saliva_months": "canal",
    "plan.papilla_chance.at_5": "molar that shows",
    "plan.papilla_chance.at_6": "molar that shows",
    "plan.papilla_chance.at_7": "molar that shows",
    "plan.plaque_limit_percent": "plaque",
    "plan.post_lost_times": "post lost",
    "plan.price.visits.margin_elevation": "box",
    "plan.price.visits.partial_coverage": "covered",
    "plan.reserve_factor_most": "deep",
    "plan.root.handbook_sd_share": "molar that shows",
    "plan.root_filling_short_mm": "canal",
    "plan.support_less_over_norm": "less root",
    "plan.support_little_over_norm": "little root",
    "plan.thickness.unknown_mm": "plaque",
    "plan.trunk_measured_sd_mm": "molar with trunk",
    "plan.trunk_sd_mm": "molar that shows",
    "plan.vertical_defect_mm": "defect",
    "plan.visible_half_width_deg": "molar that shows",
    "plan.without.convergence_deg": "low molar",
    "plan.without.opposing_trimmed_most_mm": "opposing",
}
USUALLY = ("back", "shown", "front")
KEYS = sorted(key for key in EVIDENCE.values if key.startswith("plan."))
_PLANNER = Planner(DRAWS)
_SEEN: dict[str, str] = {}


def planned(name: str, evidence: Evidence) -> str:
    """Everything that is answered on a case, from draws that the planner keeps from one evidence to the next."""
    case = PLANNED[name]
    neck = prepare(case, 0, evidence, seed=SEED, draws=DRAWS, draw=_PLANNER._drawn)
    return tooth_document(plan_tooth(case, 0, neck), words).model_dump_json()


def usually(name: str) -> str:
    if name not in _SEEN:
        _SEEN[name] = planned(name, EVIDENCE)
    return _SEEN[name]


@pytest.mark.slow
@pytest.mark.parametrize("key", [key for key in KEYS if key not in MOVES_NO_PLAN])
def test_each_limit_handed_in_moves_an_answer(key: str) -> None:
    names = (SEEN_BY[key],) if key in SEEN_BY else USUALLY
    assert any(planned(name, shifted(key, up=up)) != usually(name) for name in names for up in (True, False))


@pytest.mark.parametrize("up", [True, False])
def test_draws_that_are_kept_serve_any_limits(up: bool) -> None:
    """The limits are no part of what draws are made of: with all of them shifted a fresh planner draws the same, and has the
    limits it was given.
    """
    evidence, case = shifted(*KEYS, up=up), PLANNED["back"]
    kept = prepare(case, 0, evidence, seed=SEED, draws=DRAWS, draw=_PLANNER._drawn)
    assert same_neck(kept, prepare(case, 0, evidence, seed=SEED, draws=DRAWS))
    assert kept.limits == evidence.limits


@pytest.mark.slow
def test_a_planner_that_planned_before_answers_as_a_fresh_one() -> None:
    usually("back")
    for key in ("plan.limit.ferrule_mm", "plan.weight.bone"):
        evidence = shifted(key, up=True)
        fresh = prepare(PLANNED["back"], 0, evidence, seed=SEED, draws=DRAWS)
        answer = tooth_document(plan_tooth(PLANNED["back"], 0, fresh), words)
        assert planned("back", evidence) == answer.model_dump_json()


def test_the_share_of_a_grooved_base_is_the_one_handed_in() -> None:
    wishes = wishes_of(broken_premolar(), np.ones(STATIONS), EVIDENCE, deep_sulcus=False)
    grooved = Treatment(procedure=WITHOUT_LENGTHENING, grooves=True)
    bases = [
        resisting_bases_mm(wishes, grooved, evidence.limits)[0]
        for evidence in (EVIDENCE, shifted("plan.groove_base_share", up=True))
    ]
    assert bases[1] > bases[0]


@pytest.mark.parametrize(
    ("limit", "procedure", "visible"),
    [
        ("burden_elevation", "deep margin elevation", False),
        ("burden_elevation", "partial coverage", False),
        ("burden_gum", "soft tissue only", False),
        ("burden_bone", "soft tissue and bone", False),
        ("burden_bone_visible", "soft tissue and bone", True),
        ("burden_extrusion", "extrusion first", False),
        ("burden_extrusion_visible_one_root", "extrusion first", True),
    ],
)
def test_a_burden_is_the_one_handed_in(limit: str, procedure: RouteName, visible: bool) -> None:
    limits = replace(EVIDENCE.limits, **{limit: 9.5})
    around = Circumstances(limits=limits, visible=visible, one_root=True, two_operations=None)
    assert burden_of(procedure_of(procedure), around) == 9.5


def test_the_chance_asked_of_a_way_without_a_cut_is_the_one_handed_in() -> None:
    limits = replace(EVIDENCE.limits, least_chance_without_cutting=0.7)
    around = Circumstances(limits=limits, visible=False, one_root=True, two_operations=None)
    assert least_chance(WITHOUT_LENGTHENING, around) == 0.7


@pytest.mark.parametrize(("least", "why"), [(0.5, "for_look"), (1.1, "kept")])
def test_the_chance_of_the_look_that_is_asked_of_gum_is_the_one_handed_in(least: float, why: str) -> None:
    case = PLANNED["worked"]
    plan = plan_tooth(case, 0, prepare(case, 0, EVIDENCE, seed=SEED, draws=DRAWS, draw=_PLANNER._drawn))
    limits = replace(EVIDENCE.limits, least_chance_gum_for_looks=least)
    assert recommendation(plan.routes, case.teeth[0], limits).why == why


@pytest.mark.parametrize(
    ("changed", "starts"),
    [
        ({}, True),
        ({"burden_replacement": 1.0}, False),
        ({"staged_keratinised_mm": 99.0}, False),
    ],
)
def test_a_staged_start_goes_by_the_limits_handed_in(changed: dict[str, float], starts: bool) -> None:
    """With no other route open: extraction is what it is weighed against."""
    case = PLANNED["staged"]
    neck = prepare(case, 0, EVIDENCE, seed=SEED, draws=DRAWS, draw=_PLANNER._drawn)
    route = plan_tooth(case, 0, neck).route("soft tissue only")
    around = Circumstances(limits=replace(EVIDENCE.limits, **changed), visible=False, one_root=True, two_operations=True)
    assert (staged_start(route, None, (), around) is not None) is starts


@pytest.mark.parametrize(("half_width_deg", "between"), [(59.0, False), (61.0, True)])
def test_what_stands_between_the_teeth_goes_by_the_width_handed_in(half_width_deg: float, between: bool) -> None:
    limits = replace(EVIDENCE.limits, between_teeth_half_width_deg=half_width_deg)
    assert staging._between_teeth(3, limits) is between  # 60 degrees from the nearest contact


@pytest.mark.parametrize(("least_mm", "enough"), [(0.0, True), (99.0, False)])
def test_the_least_ferrule_is_the_one_handed_in(least_mm: float, enough: bool) -> None:
    limits = replace(EVIDENCE.limits, ferrule_least_mm=least_mm)
    case = PLANNED["mirror"]
    neck = prepare(case, 0, replace(EVIDENCE, limits=limits), seed=SEED, draws=DRAWS, draw=_PLANNER._drawn)
    plan = plan_tooth(case, 0, neck).routes[0].plan
    assert plan is not None
    assert remains._has_ferrule(plan) is enough
