"""Diagnosis before the plan: is the canal in order, is there a crack, does the present restoration cause the inflammation?

A canal that is not in order leaves every route in doubt. A suspected crack, and a restoration that is probably too near the
bone, close every route: no lengthening is planned on them.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from collum.case.facts import Canal
from collum.case.model import Tooth, site_angle_deg
from collum.evidence.handed import PlanLimits
from collum.plan.lengthening.grounds import DoubtId, Ground
from collum.plan.lengthening.levels.inputs import mean_reading_mm

_DAYS = 7


@dataclass(frozen=True, slots=True, kw_only=True)
class NearBone:
    """A bleeding site with a restoration margin near the crest. `likely`: that is why it bleeds, for it still does so some
    weeks after a dated hygiene phase at a clean tooth.
    """

    site: str
    to_crest_mm: float
    likely: bool


def canal_doubts(tooth: Tooth, limits: PlanLimits) -> Mapping[DoubtId, bool]:
    """Return what leaves the canal not in order, each with whether it holds."""
    canal = tooth.facts.canal or Canal()
    open_months, short = canal.open_to_saliva_months or 0, (canal.filling_short_mm or 0) > limits.root_filling_short_mm
    return {
        "lesion_not_cleared": tooth.facts.apical_state == "lesion" and canal.cleared_on is None,
        "root_filling_faulty": short or canal.filling_over is True or canal.filling_voids is True,
        "canal_symptoms": canal.symptoms is True or canal.sinus_tract is True,
        "canal_open": open_months > limits.open_to_saliva_months,
    }


def waits_for_healing(tooth: Tooth, limits: PlanLimits) -> bool:
    """Return whether the definitive crown waits for a film that shows the lesion healing."""
    lesion_mm = (tooth.facts.canal or Canal()).lesion_mm
    return lesion_mm is not None and lesion_mm >= limits.lesion_waits_mm


def crack_suspected(tooth: Tooth, limits: PlanLimits) -> Ground | None:
    """Return a sign of a crack: a deep narrow site, or pain on release. None too where a crack was looked for."""
    if tooth.facts.cracks is not None:
        return None
    narrow = _narrow_site(tooth, limits)
    if narrow is not None:
        return Ground(id="crack_at", site=narrow)
    return Ground(id="crack_pain") if tooth.facts.pain_on_release else None


def post_lost_again(tooth: Tooth, limits: PlanLimits) -> bool:
    """Return whether the crown came off with its post again: first its ferrule is asked for, then a crack."""
    stump, crown = tooth.facts.old_stump, tooth.facts.old_crown
    lost = 0 if crown is None or crown.failures is None else crown.failures
    return tooth.facts.cracks is None and stump is not None and stump.post is True and lost >= limits.post_lost_times


def restoration_near_bone(tooth: Tooth, limits: PlanLimits) -> Iterator[NearBone]:
    """Give each bleeding site with a restoration margin near the crest."""
    cleaned = _bleeds_after_hygiene(tooth, limits)
    for site, margin_mm in (tooth.facts.restoration_margin_mm or {}).items():
        sounding_mm = mean_reading_mm(tooth, "bone_sounding", site)
        if site not in tooth.bleeding or sounding_mm is None:
            continue
        to_crest_mm = sounding_mm + margin_mm
        if to_crest_mm < limits.near_bone_possible_mm:
            likely = cleaned and to_crest_mm < limits.near_bone_likely_mm
            yield NearBone(site=site, to_crest_mm=to_crest_mm, likely=likely)


def _bleeds_after_hygiene(tooth: Tooth, limits: PlanLimits) -> bool:
    phase, plaque = tooth.facts.hygiene_phase, tooth.plaque_percent
    if phase is None or phase.read_on is None or plaque is None or plaque > limits.plaque_limit_percent:
        return False
    weeks = (date.fromisoformat(phase.read_on) - date.fromisoformat(phase.ended_on)).days / _DAYS
    return limits.hygiene_checked_from_weeks <= weeks <= limits.hygiene_checked_to_weeks


def _narrow_site(tooth: Tooth, limits: PlanLimits) -> str | None:
    """Return a site probed deep between two that are much shallower; a false pocket, by its junction, is none."""
    depths = {site: mean_reading_mm(tooth, "probing_depth", site) for site in sorted(tooth.sites, key=site_angle_deg)}
    known = [(site, depth) for site, depth in depths.items() if depth is not None]
    for site, depth in alone_deep(known, limits.crack_deeper_mm):
        junction = mean_reading_mm(tooth, "cej_height", site)
        lost = junction is None or depth + junction >= limits.crack_deeper_mm
        if lost and depth >= limits.crack_probing_mm:
            return site
    return None


def alone_deep(round_mm: Sequence[tuple[str, float]], by_mm: float) -> Iterator[tuple[str, float]]:
    """Give the sites, with their depth, that are deeper by at least so much than both beside them on the way round."""
    if len(round_mm) < len(("before", "at", "after")):
        return
    for i, (site, depth) in enumerate(round_mm):
        if depth - max(round_mm[i - 1][1], round_mm[(i + 1) % len(round_mm)][1]) >= by_mm:
            yield site, depth
