"""The procedure *partial coverage*: a restoration bonded over the cusps; it ends above the gum, on enamel.

It asks for less height than a crown, and for no ferrule: bonding holds it, where enamel and walls are left
(`enamel_at_margin`, `walls_standing`). A deep proximal margin is raised with composite first where that can be done.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from collum.case.model import Tooth
from collum.core.ring import STATIONS, Floats
from collum.evidence.handed import PlanLimits
from collum.plan.lengthening.grounds import AS_WISHED, CoverageFactId, Doubt, ElevationFactId, Ground
from collum.plan.lengthening.levels.inputs import mean_reading_mm
from collum.plan.lengthening.levels.prepared import Prepared
from collum.plan.lengthening.procedures.conceding import thinner, with_more_bite, with_reduction
from collum.plan.lengthening.procedures.margin_elevation import RaisingMargins, against_raising
from collum.plan.lengthening.procedures.procedure import Concession, Treatment
from collum.plan.lengthening.wishes import Wishes, is_front

_HEIGHT_KEY = "plan.coverage.wall_height_mm"
_NO_CUSP = ("M", "D")


@dataclass(frozen=True, slots=True, kw_only=True)
class Cusps:
    """How thick the cusps are: each under `limit_mm` is covered. `thinnest_mm` at a `site`; None: not read."""

    limit_mm: float
    site: str | None
    thinnest_mm: float | None


class PartialCoverage(RaisingMargins):
    """The cusps are covered and bonded to enamel above the gum; nothing is cut and no full crown prepared."""

    id = "partial coverage"
    option = "partial-coverage"
    burden = 3
    bonds = True
    thinnest = "metal_cover"
    reads_nothing_for = frozenset({"no_attachment_cut", "clear_of_bone", "keratinised_tissue_left", "resistance"})
    steps = ("prepare_on_enamel", "bond")
    visits = "plan.price.visits.partial_coverage"

    def given_up(self, tooth: Tooth, wishes: Wishes, limits: PlanLimits) -> Iterator[Concession]:
        now = Concession(wishes=_bonded(wishes, limits), given_up=AS_WISHED)
        yield now
        now = thinner(now, limits.coverage_metal_mm)
        yield now
        yield from with_more_bite(tooth, now, limits)

    def raised_at(self, prepared: Prepared, wishes: Wishes) -> np.ndarray:
        return super().raised_at(prepared, _bonded(wishes, prepared.limits))

    def against(self, prepared: Prepared, wishes: Wishes) -> Iterator[Ground]:
        tooth = prepared.inputs.tooth
        restoration, facts = tooth.restoration, tooth.facts
        hidden = wishes.high_mm is not None and wishes.high_mm < prepared.limits.coverage_above_gum_mm
        stump = facts.old_stump
        found: dict[CoverageFactId | ElevationFactId, bool] = {
            "front_tooth_uncovered": is_front(tooth.number),
            "abutment_uncovered": _carries_a_bridge(tooth),
            "crown_for_looks": restoration.visible_zone is True and (hidden or restoration.kind == "full crown"),
            "post_in_tooth": stump is not None and stump.post is True,
            "prepared_before": stump is not None or facts.old_crown is not None,
            "not_dry": facts.dam_and_matrix == "not dry",
        }
        yield from (Ground(id=name) for name, holds in found.items() if holds)
        raised = self.raised_at(prepared, wishes)
        if raised.any():
            yield from against_raising(prepared, raised)

    def doubts(self, prepared: Prepared, treatment: Treatment, cut_mm: Floats) -> tuple[Doubt, ...]:
        unread = cusps_of(prepared.inputs.tooth, prepared.limits).thinnest_mm is None
        return (*super().doubts(prepared, treatment, cut_mm), *([Doubt(id="cusps_not_measured")] if unread else []))

    def steps_of(self, treatment: Treatment) -> tuple[str, ...]:
        raised = ("raise_margin", "bitewing") if treatment.raised.any() else ()
        return ("isolate", *raised, *self.steps)


def cusps_of(tooth: Tooth, limits: PlanLimits) -> Cusps:
    """Return how thick the cusps of a tooth are, and from which thickness on one is left without cover."""
    limit = limits.coverage_cusp_vital_mm if tooth.vital is True else limits.coverage_cusp_root_filled_mm
    read = {site: mean_reading_mm(tooth, "wall_thickness", site) for site in tooth.sites if site not in _NO_CUSP}
    known = {site: mm for site, mm in read.items() if mm is not None}
    site = min(known, key=lambda one: known[one], default=None)
    return Cusps(limit_mm=limit, site=site, thinnest_mm=None if site is None else known[site])


def _carries_a_bridge(tooth: Tooth) -> bool:
    beside = (tooth.contact_mesial, tooth.contact_distal)
    return tooth.role == "abutment" or tooth.restoration.kind == "bridge abutment" or "pontic" in beside


def _bonded(wishes: Wishes, limits: PlanLimits) -> Wishes:
    """Return what is asked of a bonded restoration: its margin above the gum, a cover of ceramic, little height, no ferrule."""
    covered = with_reduction(wishes, limits.coverage_ceramic_mm)
    height = wishes.rule("preparation_height")
    eased = replace(height, limit=limits.coverage_wall_height_mm, evidence=(_HEIGHT_KEY, *height.evidence[1:]))
    return replace(
        covered,
        rules={**covered.rules, "preparation_height": eased},
        low_mm=max(wishes.low_mm, limits.coverage_above_gum_mm),
        high_mm=None,
        loaded=np.zeros(STATIONS, dtype=bool),
        axial_reduction_mm=0.0,
    )


PARTIAL_COVERAGE = PartialCoverage()
