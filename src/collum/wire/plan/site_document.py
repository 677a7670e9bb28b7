"""One site of a route as card, sheets and ledger need it; depths positive apically from the present margin."""

from collum.case.model import site_angle_deg
from collum.core.ring import STATIONS_DEG
from collum.plan.lengthening.course import interim_mm, provisional_mm
from collum.plan.lengthening.procedures.lines import RoutePlan
from collum.plan.lengthening.requirements.situation import nearest_station
from collum.plan.lengthening.route import Route
from collum.plan.lengthening.sounded import any_bone_read, bone_read
from collum.plan.lengthening.tooth_plan import ToothPlan
from collum.plan.printed import rounded
from collum.plan.sentence import Sentence, say
from collum.wire.plan.document import LedgerRowDocument, SiteDocument
from collum.wire.speaking import Speaker


def site_document(plan: ToothPlan, route: Route, site: str, speak: Speaker) -> SiteDocument:
    """Return what is said of one site; the route offers lines. Where no bone was read at the tooth nothing counts from it."""
    lines, forecast = route.plan, route.forecast
    assert lines is not None and forecast is not None
    i = nearest_station(site_angle_deg(site))
    levels, treatment = plan.prepared.levels, lines.treatment
    down = treatment.extruded_mm
    crest = float(levels["crest"].mean[i] - treatment.lowered_mm[i])
    base = float(-lines.prepared.sulcus_mm[i].mean() - down)
    edge = levels.get("occlusal_edge")
    cut, finish = float(lines.cut_mm[i] - down), float(lines.finish_mm[i] - down)
    cut_here = _is_cut(lines, site)
    outer = cut - (float(plan.wishes.bevel_mm[i]) if cut_here else 0)
    interim, temporary = interim_mm(route), provisional_mm(route)
    assert interim is not None
    from_crest = rounded if any_bone_read(plan.prepared.inputs) else _unread
    return SiteDocument(
        site=site,
        station_deg=float(STATIONS_DEG[i]),
        cut=cut_here,
        stop_below_margin_mm=rounded(-lines.cut_mm[i]),
        stop_below_landmark_mm=None if edge is None else rounded(float(edge.mean[i]) - cut),
        landmark=None if edge is None else speak(_landmark(plan)),
        bone_read=bone_read(plan.prepared.inputs, site),
        bone_below_margin_mm=from_crest(-levels["crest"].mean[i]),
        bone_nearest_below_margin_mm=from_crest(-levels["crest"].p95[i]),
        attachment_below_margin_mm=rounded(-levels["sulcus_base"].mean[i]),
        reserve_cut_to_attachment_mm=rounded(cut - base),
        reserve_cut_to_bone_mm=from_crest(outer - crest),
        reserve_finish_line_to_attachment_mm=rounded(finish - base),
        reserve_finish_line_to_crest_mm=from_crest(finish - crest),
        rest_below_margin_mm=rounded(-forecast.settled_mm[i]),
        finish_above_settled_margin_mm=rounded(finish - forecast.settled_mm[i]),
        finish_above_crest_mm=from_crest(finish - crest),
        lasting_gain_mm=rounded(forecast.lasting_gain_mm[i]),
        will_not_last=bool(forecast.will_not_last[i]),
        only_to_see=bool(forecast.only_to_see[i]),
        run_out=not cut_here and any(_is_cut(lines, beside) for beside in _beside(plan, site)),
        bone_reduction_mm=rounded(treatment.bone_mm[i]),
        crest_after_below_margin_mm=from_crest(-crest),
        sutured_above_crest_mm=from_crest(cut - crest) if treatment.procedure.takes_bone else None,
        interim_below_margin_mm=rounded(-interim[i]),
        provisional_below_margin_mm=None if temporary is None else rounded(-temporary[i]),
        ledger=_ledger(plan, lines, i),
    )


def _is_cut(lines: RoutePlan, site: str) -> bool:
    depth_mm = -float(lines.cut_mm[nearest_station(site_angle_deg(site))])
    return lines.treatment.procedure.cuts_by_current and depth_mm > lines.limits.least_cut_mm


def _beside(plan: ToothPlan, site: str) -> tuple[str, str]:
    """Return the sites on both sides of a site: a cut there runs out to nothing before this site."""
    sites = sorted(plan.prepared.inputs.tooth.sites, key=site_angle_deg)
    at = sites.index(site)
    return sites[at - 1], sites[(at + 1) % len(sites)]


def _unread(_height_mm: float) -> None:
    """Say nothing of a height over bone that no reading stands behind."""


def _landmark(plan: ToothPlan) -> Sentence:
    return say("plan.landmark.stent" if plan.prepared.inputs.tooth.edge_is_level else "plan.landmark.occlusal_edge")


def _ledger(plan: ToothPlan, lines: RoutePlan, i: int) -> list[LedgerRowDocument]:
    """What the tooth brings and what each need takes at one station after the treatment; the rows add up to the spare.

    A ferrule is asked where the load acts, elsewhere only that the line lies on sound tooth. Where no bone was read at the
    tooth nothing is said of what counts from it, and of the spare neither.
    """
    after = lines.prepared
    crest = -float(after.crest_depth_mm[i].mean())
    attachment = float(after.attachment_mm[i].mean())
    rule, asked = lines.wishes.rule("ferrule"), float(lines.wishes.ferrule_mm[i])
    read = any_bone_read(plan.prepared.inputs)
    brings = None if after.sound_edge_mm is None or not read else float(after.sound_edge_mm[i].mean()) - crest
    room = float(lines.finish_mm[i]) - crest - attachment
    amounts: list[tuple[str, float | None, str | None]] = [
        ("sound_edge_above_crest", brings, None),
        ("attachment", -attachment, "neck.attachment.mean_mm"),
        ("room_under_finish_line", -room if read else None, "plan.limit.clear_of_crest_mm"),
        ("ferrule_wanted", -asked, rule.evidence[0]),
        ("spare", None if brings is None else brings - attachment - room - asked, None),
    ]
    return [
        LedgerRowDocument.model_validate({"item": item, "amount_mm": None if mm is None else rounded(mm), "evidence": evidence})
        for item, mm, evidence in amounts
    ]
