"""The procedure *soft tissue and bone*: a flap, bone taken with other instruments, the margin sutured; solve, simulate, judge.

Between the least share of the way back and its forecast stand two bounds on the settled margin: the affine law and the
greatest recession; both are kept.
"""

from collections.abc import Callable, Iterator
from dataclasses import replace

import numpy as np

from collum.case.model import Tooth
from collum.core.healing import phenotype_shift_mm, return_share_bone, settled_after_flap_mm
from collum.core.ring import STATIONS, STATIONS_DEG, Floats
from collum.evidence.handed import Evidence, HealingLaw
from collum.plan.lengthening.levels.prepared import Prepared, thinned
from collum.plan.lengthening.procedures.lines import STEER_BY_EVERY, RoutePlan, as_printed, best_try, judge_lines, shortfalls
from collum.plan.lengthening.procedures.procedure import (
    Procedure,
    SettledBound,
    Timing,
    Treatment,
    after,
    line_moves_mm,
    room_found_mm,
    wait,
)
from collum.plan.lengthening.procedures.wished import from_wish, nearest_to_wish
from collum.plan.lengthening.requirements.assessment import least_of
from collum.plan.lengthening.solver.bone_depths import printed_bone
from collum.plan.lengthening.solver.bone_programme import BoneLines, BoneProgramme, solve_bone
from collum.plan.lengthening.solver.bounds import bone_programme_of, bounds_of, with_strict_guards
from collum.plan.lengthening.solver.hand import PAPILLAE
from collum.plan.lengthening.wishes import Wishes


class BoneSurgery(Procedure):
    """A flap is raised, bone is taken by instruments without current, and the margin is sutured."""

    id = "soft tissue and bone"
    option = "bone"
    safety_procedures = ("bone",)
    acts = ("bone",)
    burden = 5
    visits = "plan.price.visits.bone_surgery"
    takes_bone = True
    meets_wished_margin = True
    way = "bone"
    reads_nothing_for = frozenset({"no_attachment_cut"})
    steps = ("consent_bone", "flap", "provisional", "settle", "measure_margin", "definitive")
    survival = "with_bone"

    def plan(self, prepared: Prepared, wishes: Wishes, *, returns_whole: bool, arc_mm: float) -> RoutePlan:
        """Return the least burdensome bone surgery and its verdicts.

        The sutured margin keeps its distance to bone by what is measured at the open flap; where that is not enough all round,
        by the doubt of the soundings.
        """
        before = Treatment(procedure=self, returns_whole=returns_whole)
        plan = _planned(prepared, wishes, before, arc_mm=arc_mm, strict=False)
        bone = plan.assessment.graded.get("clear_of_bone")
        if bone is None or bone.verdict == "kept":
            return plan
        return _planned(prepared, wishes, before, arc_mm=arc_mm, strict=True)

    def after(self, prepared: Prepared, treatment: Treatment) -> Prepared:
        """Return the neck with bone taken down to the planned distance from the sound edge, as measured at the open flap.

        So what is taken differs from draw to draw, and the distance is left with the error of measuring it. The attachment
        forms anew over lowered bone as wide as it was.
        """
        lowered = _bone_taken_mm(prepared, treatment)
        return replace(
            prepared,
            crest_depth_mm=prepared.crest_depth_mm + lowered,
            sulcus_mm=prepared.sulcus_mm + lowered,
            lowered_mm=lowered,
        )

    def sutured_mm(self, prepared: Prepared, cut_mm: Floats) -> Floats:
        """Return (36, n) the sutured margin: it is placed from the sound edge, as the finish line is."""
        return np.asarray(cut_mm[:, None] + line_moves_mm(prepared))

    def forecasts_mm(self, prepared: Prepared, cut_mm: Floats, treatment: Treatment) -> tuple[Floats, ...]:
        """Return the one forecast: the law known from bone surgery holds."""
        if treatment.returns_whole:
            return (np.zeros_like(prepared.crest_depth_mm),)
        return (settled_sutured_mm(prepared, self.sutured_mm(prepared, cut_mm)),)

    def settled_bounds(self, prepared: Prepared, treatment: Treatment) -> tuple[SettledBound, ...]:
        """Return the affine law and the greatest recession."""
        law = prepared.evidence.healing
        share = return_share_bone(STATIONS_DEG, law)
        residual, still = law.residual_mm, np.zeros(STATIONS)
        healing = share[:, None] * prepared.own_height_mm + residual * prepared.regrowth.noise
        crest = -prepared.crest_depth_mm.mean(axis=1)
        return (
            SettledBound(
                mean_mm=share * crest + healing.mean(axis=1) + phenotype_shift_mm(prepared.inputs.phenotype, law),
                sd_mm=np.hypot(healing.std(axis=1), share * prepared.limits.surgery_measuring_sd_mm),
                on_cut=1 - share,
                on_bone=share,
            ),
            SettledBound(
                mean_mm=np.full(STATIONS, -law.largest_recession_mm),
                sd_mm=np.full(STATIONS, residual),
                on_cut=np.ones(STATIONS),
                on_bone=still,
            ),
        )

    def _faded(self, movement_mm: Floats, cut_mm: Floats, law: HealingLaw) -> Floats:
        """Return the movement as it is: a sutured margin settles however little was taken."""
        return movement_mm

    def timing(self, tooth: Tooth, treatment: Treatment, evidence: Evidence) -> tuple[Timing, ...]:
        """Return how long the margin settles: longer where it shows."""
        if tooth.restoration.visible_zone is True:
            return (wait("definitive_finish_line_visible", "healing.wait.bone_visible_weeks", "bone_visible", evidence),)
        return (wait("definitive_finish_line", "healing.wait.bone_weeks", "bone", evidence),)


def settled_sutured_mm(prepared: Prepared, sutured_mm: Floats) -> Floats:
    """Return (36, n) the settled margin in every draw for a sutured margin (36, n)."""
    law = prepared.evidence.healing
    spread = law.return_share_sd * prepared.regrowth.share_deviate
    return settled_after_flap_mm(
        sutured_mm,
        law,
        crest_depth_mm=prepared.crest_depth_mm,
        own_height_mm=prepared.own_height_mm,
        return_share=np.clip(return_share_bone(STATIONS_DEG, law)[:, None] + spread, 0, 1),
        phenotype_shift_mm=phenotype_shift_mm(prepared.inputs.phenotype, law),
        noise=prepared.regrowth.noise,
    )


def _bone_taken_mm(prepared: Prepared, treatment: Treatment) -> Floats:
    """Return (36, n) the bone taken in every draw; none where the plan takes none."""
    planned = treatment.bone_mm[:, None]
    error = prepared.limits.surgery_measuring_sd_mm * prepared.root.surgery
    return np.asarray(np.where(planned > 0, np.maximum(planned - room_found_mm(prepared) + error, 0), 0))


def _planned(prepared: Prepared, wishes: Wishes, before: Treatment, *, arc_mm: float, strict: bool) -> RoutePlan:
    few = thinned(prepared, STEER_BY_EVERY)
    bounds = bounds_of(prepared, wishes, before)
    if strict:
        bounds = with_strict_guards(prepared, wishes, bounds, np.ones(STATIONS, dtype=bool))

    def least(lines: BoneLines) -> dict[str, Floats]:
        treatment = _treatment(before, lines)
        return least_of(after(few, treatment), wishes, lines.cut_mm, lines.finish_mm, treatment)

    def drawn(asked: Wishes) -> BoneLines:
        def tried(factors: dict[str, float]) -> tuple[tuple[BoneProgramme, BoneLines], dict[str, Floats]]:
            programme = bone_programme_of(prepared, wishes, bounds, factors, before, arc_mm=arc_mm)
            lines = solve_bone(_towards_wish(programme, asked, prepared))
            return (programme, lines), least(lines)

        found = printed_bone(*best_try(tried, wishes, prepared.limits))
        return best_printed(found, lambda one: [*shortfalls(least(one), wishes), *from_wish(least(one), asked)])

    lines = nearest_to_wish(wishes, prepared.limits, drawn, least)
    treatment = _treatment(before, lines)
    cut, finish = (as_printed(line, prepared.margin_mm) for line in (lines.cut_mm, lines.finish_mm))
    return judge_lines(after(prepared, treatment), wishes, np.minimum(cut, 0), finish, treatment)


def _towards_wish(programme: BoneProgramme, wishes: Wishes, prepared: Prepared) -> BoneProgramme:
    """Return the programme with the margin sutured at the wished one over as much bone taken as lets it stay there.

    At the sites on both sides half as much is taken: bone at one place alone is narrower than an instrument.
    """
    law, low = prepared.evidence.healing, programme.bone_low_mm.copy()
    share, shift_mm = return_share_bone(STATIONS_DEG, law), phenotype_shift_mm(prepared.inputs.phenotype, law)
    for station, wished in wishes.aims_mm.items():
        over_crest_mm = float(wished + prepared.crest_depth_mm[station].mean())
        lacking_mm = float(prepared.own_height_mm[station].mean()) - over_crest_mm + shift_mm / float(share[station])
        beside = programme.shape.neck.beside(station) - set(PAPILLAE)
        for at, mm in {station: lacking_mm, **dict.fromkeys(beside, lacking_mm / 2)}.items():
            low[at] = max(low[at], min(mm, programme.bone_high_mm[at]))
    return replace(programme, wished_mm=wishes.aims_mm, bone_low_mm=low)


def best_printed(candidates: Iterator[BoneLines], shortfalls_of: Callable[[BoneLines], list[float]]) -> BoneLines:
    """Return the first lines that keep every rule, else those whose worst rule is best; the first among equals."""
    found: list[tuple[list[float], BoneLines]] = []
    for lines in candidates:
        found.append((shortfalls_of(lines), lines))
        if not any(found[-1][0]):
            break
    return max(found, key=lambda pair: pair[0])[1]


def _treatment(before: Treatment, lines: BoneLines) -> Treatment:
    return replace(before, bone_mm=as_printed(lines.bone_mm, np.zeros(STATIONS)))


BONE_SURGERY = BoneSurgery()
