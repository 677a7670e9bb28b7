"""Findings that decide before any line is drawn: what closes a route, what keeps it in doubt, what has to be asked.

Clinical rules: inflamed tissue is not planned on; overgrowth whose cause is not controlled comes back; a sound edge counts
once caries and old filling are out; attachment loss is treated first.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from collum.case.model import Tooth, site_angle_deg
from collum.evidence.handed import PlanLimits
from collum.evidence.patient_rows import UNCLASSIFIED_ROW
from collum.plan.lengthening.diagnosis import (
    NearBone,
    alone_deep,
    canal_doubts,
    crack_suspected,
    post_lost_again,
    restoration_near_bone,
    waits_for_healing,
)
from collum.plan.lengthening.grounds import (
    Closing,
    Doubt,
    DoubtId,
    Ground,
    LeastChange,
    Question,
    RouteFactId,
    StopId,
    TreatFirstId,
)
from collum.plan.lengthening.levels.inputs import mean_reading_mm
from collum.plan.lengthening.levels.plausible import plausibility_questions
from collum.plan.lengthening.passive_eruption import is_passive_eruption, passive_eruption
from collum.plan.lengthening.patient_routes import closed_by_patient
from collum.plan.lengthening.procedures.extrusion import EXTRUSION
from collum.plan.lengthening.procedures.registry import PROCEDURES
from collum.plan.lengthening.procedures.soft_tissue import SOFT_TISSUE
from collum.plan.lengthening.wished_margin import wished_margin
from collum.plan.patient.standing import PatientEffect, PatientStanding
from collum.plan.sentence import say
from collum.vocabulary import RouteName, SmileLine

_BY_SURGERY = ("through_furcation", "no_anchorage", "crest_near_junction")  # advice on these names surgery of bone
_HOPELESS_GRADE = 3  # of mobility, and of a furcation one can pass through


@dataclass(frozen=True, slots=True, kw_only=True)
class Findings:
    """`closing`: the first fact that closes every route, of all in `everywhere`; `closed`: the first that closes one.

    `patient`: what is known of the patient, and by route what of it closes it (`by_patient`). `doubts`: why a verdict can at
    best be in doubt; `questions`: what to find out.
    """

    everywhere: tuple[Closing, ...]
    closed: Mapping[RouteName, Closing]
    doubts: tuple[Doubt, ...]
    questions: tuple[Question, ...]
    returns_whole: bool
    patient: PatientStanding
    by_patient: Mapping[RouteName, tuple[Closing, ...]]

    @property
    def closing(self) -> Closing | None:
        return next(iter(self.everywhere), None)

    @property
    def tooth_stop(self) -> bool:
        """Whether a finding closes every way of keeping the tooth."""
        return self.closing is not None and self.closing.kind == "restorable_tooth"


def findings_of(tooth: Tooth, patient: PatientStanding, limits: PlanLimits, *, smile_line: SmileLine | None = None) -> Findings:
    """Return the findings of one tooth of a patient. `smile_line`: of the patient."""
    uncontrolled = _uncontrolled(tooth)
    loss = attachment_loss(tooth, limits)
    no_surgery = bool(patient.closing("bone"))
    near_bone = tuple(restoration_near_bone(tooth, limits))
    by_patient = {one.id: tuple(map(closing_of, closed_by_patient(one, patient))) for one in PROCEDURES}
    return Findings(
        everywhere=tuple(_closings(tooth, near_bone, limits, no_surgery=no_surgery)),
        closed=_closed_routes(tooth, loss, limits, no_surgery=no_surgery)
        | {route: found[0] for route, found in by_patient.items() if found},
        doubts=_doubts(tooth, uncontrolled, loss, limits),
        questions=(
            *_questions(tooth, near_bone, limits),
            *_looks_questions(tooth, smile_line),
            *plausibility_questions(tooth, limits),
        ),
        returns_whole=uncontrolled,
        patient=patient,
        by_patient=by_patient,
    )


def attachment_loss(tooth: Tooth, limits: PlanLimits) -> tuple[str, float] | None:
    """Return site and amount of the worst attachment loss where it reaches its limit: probing depth + cej height."""
    worst: tuple[str, float] | None = None
    for site in tooth.sites:
        junction = mean_reading_mm(tooth, "cej_height", site)
        depth = mean_reading_mm(tooth, "probing_depth", site)
        sounding = mean_reading_mm(tooth, "bone_sounding", site)
        if junction is None:
            continue
        loss = depth + junction if depth is not None else 0
        below = sounding + junction if sounding is not None else 0
        if loss >= limits.attachment_loss_mm or below > limits.crest_below_cej_mm:
            amount = max(loss, below)
            if worst is None or amount > worst[1]:
                worst = (site, amount)
    return worst


def _closings(tooth: Tooth, near_bone: Sequence[NearBone], limits: PlanLimits, *, no_surgery: bool) -> Iterator[Closing]:
    """Give every fact that closes all routes: what ends the tooth, what is treated or judged first, what has to heal.

    `no_surgery`: bone surgery is closed for this patient, and with it whatever else needs a flap.
    """
    for stop in _tooth_stops(tooth):
        out_first = stop == "caries_not_restorable" and tooth.sound_measured is not True
        change = "caries_out_first" if out_first else f"{stop}_no_surgery" if no_surgery and stop in _BY_SURGERY else stop
        yield Closing(kind="restorable_tooth", ground=Ground(id=stop), least_change=LeastChange(id=change))
    for first in _treated_first(tooth):
        yield Closing(kind="healthy_tissue", ground=Ground(id=first), least_change=LeastChange(id=first))
    crack = crack_suspected(tooth, limits)
    if crack is not None:
        yield Closing(kind="healthy_tissue", ground=crack, least_change=LeastChange(id="crack_first"))
    likely = {one.site: one.to_crest_mm for one in near_bone if one.likely}
    for site, to_crest_mm in likely.items():
        ground = Ground(id="near_bone_likely", site=site, to_crest_mm=to_crest_mm)
        yield Closing(kind="healthy_tissue", ground=ground, least_change=LeastChange(id="crown_off_first"))
    heal = LeastChange(id="heal_first")
    for site in _inflamed_sites(tooth, limits.inflamed_probing_mm):
        if site in likely:
            continue
        yield Closing(kind="healthy_tissue", ground=Ground(id="inflamed_site", site=site), least_change=heal)
    if tooth.state == "inflamed":
        yield Closing(kind="healthy_tissue", ground=Ground(id="inflamed_tooth"), least_change=heal)
    scores: tuple[tuple[TreatFirstId, float | None, float], ...] = (
        ("plaque", tooth.plaque_percent, limits.plaque_limit_percent),
        ("bleeding", tooth.facts.bleeding_percent, limits.bleeding_limit_percent),
    )
    for name, percent, limit in scores:
        if percent is not None and percent > limit:
            yield Closing(
                kind="healthy_tissue", ground=Ground(id=name, percent=percent, limit_percent=limit), least_change=heal
            )


def _tooth_stops(tooth: Tooth) -> Iterator[StopId]:
    """Give the findings that close every way of keeping the tooth."""
    facts = tooth.facts
    mobility, filling = facts.mobility, facts.root_filling
    stops: dict[StopId, bool] = {
        "vertical_root_fracture": facts.vertical_root_fracture is True,
        "caries_not_restorable": facts.caries_restorable is False,
        "perforation_not_restorable": facts.perforation is True and facts.perforation_restorable is False,
        "mobility": mobility is not None and mobility.grade >= _HOPELESS_GRADE,
        "root_filling": filling is not None and filling.quality == "hopeless",
        "through_furcation": any(entry.grade >= _HOPELESS_GRADE for entry in facts.furcation or ()),
    }
    return (name for name, found in stops.items() if found)


def _treated_first(tooth: Tooth) -> Iterator[TreatFirstId]:
    """Give what has to be treated or judged before any route is open."""
    if tooth.facts.apical_state == "acute":
        yield "acute_infection"
    if tooth.facts.perforation is True and tooth.facts.perforation_restorable is None:
        yield "perforation"


def closing_of(effect: PatientEffect) -> Closing:
    """Return a closing row of the patient as what closes a route."""
    row = effect.found.row.id
    if row == UNCLASSIFIED_ROW:
        ground = Ground(id="unclassified", row=row, words=effect.found.entry)
        return Closing(kind="unclassified", ground=ground, least_change=LeastChange(id="unclassified"))
    ground = Ground(id="patient", row=row, act=effect.act, effect=effect.standing)
    return Closing(kind="patient", ground=ground, least_change=LeastChange(id=f"patient.{effect.standing}"))


def _closed_routes(
    tooth: Tooth, loss: tuple[str, float] | None, limits: PlanLimits, *, no_surgery: bool
) -> dict[RouteName, Closing]:
    """Return the facts that close one route alone; of several the first."""
    facts = tooth.facts
    defect = _vertical_defect(tooth, limits.vertical_defect_mm)
    erupted = passive_eruption(tooth, limits)
    by_current: dict[RouteFactId, bool] = {
        "crest_near_junction": erupted is not None and erupted.with_bone,
        "implant_beside": facts.implant_beside is True and facts.cut_by != "scalpel",
        "vertical_defect": defect is not None,
    }
    extrusion: dict[RouteFactId, bool] = {
        "ankylosis": facts.ankylosis is True,
        "no_anchorage": facts.anchorage == "none",
        "periodontitis": loss is not None,
    }
    closed: dict[RouteName, Closing] = {}
    tables: tuple[tuple[RouteName, dict[RouteFactId, bool]], ...] = ((SOFT_TISSUE.id, by_current), (EXTRUSION.id, extrusion))
    for route, closing in tables:
        found = next((name for name, holds in closing.items() if holds), None)
        if found is None:
            continue
        ground = Ground(id=found, site=defect if found == "vertical_defect" else None)
        if found == "crest_near_junction" and erupted is not None:
            ground = Ground(id=found, site=erupted.site, to_cej_mm=erupted.crest_below_cej_mm)
        change = f"{found}_no_surgery" if no_surgery and found in _BY_SURGERY else found
        closed[route] = Closing(kind=found, ground=ground, least_change=LeastChange(id=change))
    return closed


def _vertical_defect(tooth: Tooth, limit_mm: float) -> str | None:
    """Return a site whose crest lies much lower along the tooth than at both sites beside it, by sounding and junction."""
    known = []
    for site in sorted(tooth.sites, key=site_angle_deg):
        sounding, junction = (mean_reading_mm(tooth, kind, site) for kind in ("bone_sounding", "cej_height"))
        if sounding is not None and junction is not None:
            known.append((site, sounding + junction))
    return next((site for site, _ in alone_deep(known, limit_mm)), None)


def _inflamed_sites(tooth: Tooth, limit_mm: float) -> list[str]:
    return [s for s in tooth.sites if s in tooth.bleeding and (mean_reading_mm(tooth, "probing_depth", s) or 0) >= limit_mm]


def _uncontrolled(tooth: Tooth) -> bool:
    """Return whether the tissue will come back whole: an overgrowth whose cause still acts."""
    if tooth.overgrowth is None or is_passive_eruption(tooth):
        return False
    return tooth.overgrowth.controlled_since is None


def _doubts(tooth: Tooth, uncontrolled: bool, loss: tuple[str, float] | None, limits: PlanLimits) -> tuple[Doubt, ...]:
    holds: dict[DoubtId, bool] = {
        "cause_not_controlled": uncontrolled,
        "cause_not_stated": tooth.state == "overgrown" and tooth.overgrowth is None,
        "sound_edge_before_caries_out": tooth.sound_measured is False,
        "sound_edge_not_stated": tooth.sound_measured is None,
        "wall_not_entered": tooth.vital is False and not tooth.readings.get("wall_thickness"),
        "vitality_not_stated": tooth.vital is None,
        "perforation_to_be_restored": tooth.facts.perforation is True,
        **canal_doubts(tooth, limits),
    }
    doubts = [Doubt(id=name) for name, found in holds.items() if found]
    if loss is not None:
        doubts.append(Doubt(id="attachment_loss", site=loss[0], loss_mm=loss[1]))
    return tuple(doubts)


def _questions(tooth: Tooth, near_bone: Sequence[NearBone], limits: PlanLimits) -> tuple[Question, ...]:
    questions = [_question("cej_at", site) for site in tooth.sites if _pocket_not_told(tooth, site, limits.inflamed_probing_mm)]
    metal = tooth.facts.metal or {}
    questions += [_question("metal", site) for site, there in metal.items() if there]
    questions += [_question("near_bone_possible", one.site) for one in near_bone if not one.likely]
    asked = {
        "state": tooth.state == "unknown",
        "cause": tooth.state == "overgrown" and tooth.overgrowth is None,
        "planned_edge": tooth.restoration.planned_edge_mm is None and bool(tooth.readings.get("crown_height")),
        "passive_eruption": is_passive_eruption(tooth) and passive_eruption(tooth, limits) is None,
        "root_length": tooth.root.length_mm is None,
        "post_lost_again": post_lost_again(tooth, limits),
        "lesion_film": waits_for_healing(tooth, limits),
    }
    return (*questions, *(_question(name) for name, open_ in asked.items() if open_))


def _looks_questions(tooth: Tooth, smile_line: SmileLine | None) -> tuple[Question, ...]:
    """Return what has to be known of mirror tooth, junction and smile before a wished margin counts."""
    facts = tooth.facts
    if tooth.restoration.visible_zone is not True or smile_line == "low":
        return ()
    wish = wished_margin(tooth, smile_line, 0, cut_for_looks=True)
    unknown = None if wish is None else wish.unknown
    asked = {
        "smile_line": wish is not None and smile_line is None,
        "mirror_margin": facts.mirror_margin_mm is None and not facts.wished_margin_mm,
        "mirror_state": unknown == "mirror_state",
        "wished_cej": unknown == "wished_cej",
    }
    return tuple(_question(name) for name, open_ in asked.items() if open_)


def _question(name: str, site: str | None = None) -> Question:
    said = say(f"plan.question.{name}") if site is None else say(f"plan.question.{name}", site=site)
    return Question(id=name, said=said, site=site)


def _pocket_not_told(tooth: Tooth, site: str, limit_mm: float) -> bool:
    """Return whether a deep site could be a false or a true pocket, for want of the junction."""
    depth = mean_reading_mm(tooth, "probing_depth", site)
    deep = depth is not None and depth >= limit_mm
    return deep and mean_reading_mm(tooth, "cej_height", site) is None
