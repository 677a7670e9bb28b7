"""The figures of a route that stand beside those of the others."""

import numpy as np

from collum.case.model import Tooth
from collum.core.ring import STATIONS_DEG
from collum.evidence.handed import PlanLimits
from collum.plan.lengthening.course import operations, weeks_to_final
from collum.plan.lengthening.levels.prepared import Prepared
from collum.plan.lengthening.procedures.procedure import Treatment
from collum.plan.lengthening.procedures.registry import procedure_of
from collum.plan.lengthening.requirements.crown_to_root import CrownToRootRatio
from collum.plan.lengthening.requirements.places import contacts_mm, station_of
from collum.plan.lengthening.requirements.root import root_is_read
from collum.plan.lengthening.route import Route
from collum.plan.lengthening.tooth_plan import ToothPlan
from collum.plan.printed import rounded
from collum.plan.sentence import say
from collum.wire.plan.document import CrownToRootDocument, PriceDocument, SummaryDocument
from collum.wire.speaking import Speaker

_BETWEEN = ("mesial", "distal")


def summary_document(plan: ToothPlan, route: Route, ratio: CrownToRootRatio | None, speak: Speaker) -> SummaryDocument:
    """Return what stands in the row of one route.

    `ratio`: crown to root, None where the route has no lines or it is not known.
    """
    lines, forecast = route.plan, route.forecast
    tooth = plan.prepared.inputs.tooth
    gain = None if forecast is None else forecast.lasting_gain_mm
    most = None if gain is None else int(np.argmax(gain))
    procedure = procedure_of(route.name)
    known = plan.prepared.evidence.figures(procedure.survival_figures)
    treatment = Treatment(procedure=procedure) if lines is None else lines.treatment
    return SummaryDocument(
        lasting_gain_most_mm=None if gain is None or most is None else rounded(gain[most]),
        lasting_gain_deg=None if most is None else float(STATIONS_DEG[most]),
        bone_most_mm=0 if lines is None else rounded(treatment.bone_mm[lines.deepest_site(treatment.bone_mm)]),
        bone_neighbour_mm=rounded(max(treatment.bone_mm[station_of(side)] for side in _BETWEEN)),
        extrusion_mm=treatment.extruded_mm,
        crown_to_root=None if ratio is None else _crown_to_root(ratio, root_is_read(plan.prepared)),
        papilla_probability=None if lines is None else _papilla_chance(lines.prepared, tooth),
        earliest_final_weeks=weeks_to_final(route, tooth),
        operations=operations(route),
        survival=speak(say(f"plan.survival.{procedure.survival}", **known)),
        price=_price(route, tooth),
    )


def _price(route: Route, tooth: Tooth) -> PriceDocument | None:
    """Return what a route takes; None where it offers no lines or is not needed."""
    lines = route.plan
    if lines is None or route.verdict == "not needed":
        return None
    treatment, chance = lines.treatment, route.chance
    return PriceDocument(
        visits=treatment.procedure.visits_of(treatment, lines.prepared.evidence),
        weeks=weeks_to_final(route, tooth),
        tooth_mm=rounded(lines.wishes.reduction_mm + treatment.extruded_mm),
        opposing_mm=rounded(route.concessions.opposing_mm or 0),
        bone_mm=rounded(treatment.bone_mm[lines.deepest_site(treatment.bone_mm)]),
        second_step_probability=None if chance is None else rounded(1 - chance),
    )


def _crown_to_root(ratio: CrownToRootRatio, root_length_measured: bool) -> CrownToRootDocument:
    return CrownToRootDocument(
        before_ratio=rounded(ratio.before),
        after_ratio=rounded(ratio.after),
        after_worse_side_ratio=rounded(ratio.after_worse_side),
        norm_ratio=rounded(ratio.norm),
        root_length_measured=root_length_measured,
    )


def _papilla_chance(after: Prepared, tooth: Tooth) -> list[float] | None:
    """Return least and greatest chance that a papilla fills the space, by side; None without a contact point."""
    contacts = contacts_mm(tooth)
    if not contacts or not tooth.restoration.visible_zone:
        return None
    distances = [mm + float(after.crest_depth_mm[station_of(side)].mean()) for side, mm in contacts.items()]
    chances = [_chance(distance, after.limits) for distance in distances]
    return [rounded(min(chances)), rounded(max(chances))]


def _chance(contact_to_crest_mm: float, limits: PlanLimits) -> float:
    """Return the share of papillae present: known at up to 5, at 6 and from 7 mm on, in between by straight lines."""
    at = limits.contact_to_crest_mm + np.arange(3)
    shares = [limits.papilla_chance_at_5, limits.papilla_chance_at_6, limits.papilla_chance_at_7]
    return float(np.interp(contact_to_crest_mm, at, shares))
