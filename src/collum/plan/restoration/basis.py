"""What a route leaves to build on: its lines on the means of the plan, and the widths of the tooth at the neck.

Lines are (36,) heights in the frame of the tooth, coronal positive. Where the tooth is extruded its edge is trimmed back to
where the opposing tooth is, so the edge comes to lie lower on the tooth. [mm]
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from collum.case.facts import Widths
from collum.case.model import Tooth, site_angle_deg
from collum.core.ring import STATIONS, STATIONS_DEG, Floats, angular_distance_deg
from collum.core.tooth import arch, half_axes_mm
from collum.evidence import get
from collum.evidence.handed import PlanLimits
from collum.plan.lengthening.planned import PlannedRoute, PlannedTooth
from collum.plan.lengthening.wishes import Wishes
from collum.vocabulary import Verdict

ConvergenceFrom = Literal["case", "route", "assumed"]

_MOLAR_FROM = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class Neck:
    """Widths of the tooth at the finish line: as recorded, or the handbook's with the widest that it allows for. [mm]"""

    facial_oral_mm: float
    mesiodistal_mm: float
    widest_mm: tuple[float, float]
    read: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class RestorationBasis:
    """One route of a tooth. None: not known.

    `top_mm` is the top of the preparation, `edge_mm` the edge of the crown to be. `cej_read`: else the junction is taken as far
    above the crest as is usual. `grooves`: the route asks for them.
    """

    planned: PlannedTooth
    route: PlannedRoute
    neck: Neck
    convergence_deg: float
    convergence_from: ConvergenceFrom
    grooves: bool
    reduction_mm: float
    finish_mm: Floats
    top_mm: Floats | None
    edge_mm: Floats | None
    cej_mm: Floats
    cej_read: bool
    crest_mm: Floats
    bone_mm: Floats
    extruded_mm: float

    @property
    def tooth(self) -> Tooth:
        return self.planned.tooth

    @property
    def limits(self) -> PlanLimits:
        return self.planned.draws.limits

    @property
    def wishes(self) -> Wishes:
        return self.planned.wishes

    @property
    def jaw(self) -> Literal["upper", "lower"]:
        return arch(self.tooth.number)

    @property
    def position(self) -> int:
        """Place in the arch, 1 to 8 from the midline."""
        return self.tooth.number % 10

    @property
    def molar(self) -> bool:
        return self.position >= _MOLAR_FROM

    @property
    def lowered_mm(self) -> Floats:
        """How far the crest comes to lie apical of its place along the root."""
        return np.asarray(self.bone_mm + self.extruded_mm)

    @property
    def across_grooves(self) -> NDArray[np.bool_]:
        """Directions (36,) in which grooves between the teeth help: facial and oral."""
        angle = np.deg2rad(STATIONS_DEG)
        return np.asarray(np.abs(np.cos(angle)) >= np.abs(np.sin(angle)))

    @property
    def height_mm(self) -> Floats | None:
        """Top of the preparation above the finish line, (36,)."""
        return None if self.top_mm is None else np.asarray(self.top_mm - self.finish_mm)

    @property
    def height_limit_mm(self) -> float:
        """Height asked of the preparation on this route: less of a molar with grooves."""
        eased = self.route.concessions.preparation_height_mm
        return self.wishes.rule("preparation_height").limit if eased is None else eased

    def read_stations(self) -> NDArray[np.intp]:
        """Return the stations at which the edge was read; between them the relief of the top is not known."""
        sites = [site_angle_deg(site) for site in self.tooth.readings.get("crown_height", {})]
        near = [int(np.argmin(angular_distance_deg(STATIONS_DEG, angle))) for angle in sites]
        return np.array(near or range(STATIONS), dtype=np.intp)

    def lowest(self) -> int:
        """Return the station read at which the preparation is lowest. Raises ValueError where no edge was read."""
        if self.height_mm is None:
            raise ValueError("no edge was read")
        read = self.read_stations()
        return int(read[np.argmin(self.height_mm[read])])

    def verdict(self, requirement: str) -> tuple[Verdict, float | None] | None:
        """Return what the plan itself says of a requirement: verdict and chance; None where it does not apply."""
        if requirement in self.route.missing:
            return "not assessed", None
        graded = self.route.graded.get(requirement)
        return None if graded is None else (graded.verdict, graded.probability)


def basis_of(planned: PlannedTooth, route: PlannedRoute) -> RestorationBasis:
    """Return what `route` leaves. Raises ValueError where the route offers no finish line."""
    lines, margin, tooth = route.lines, planned.draws.margin_mm, planned.tooth
    if lines is None:
        raise ValueError(f"the route {route.name} offers no line to judge on")
    given_up = route.concessions
    thinner, narrowed = given_up.occlusal_reduction_mm, given_up.convergence_deg
    reduction = planned.wishes.reduction_mm if thinner is None else thinner
    crest, cej = _mean(planned, "crest"), _mean(planned, "cej")
    assert crest is not None
    today = _mean(planned, "occlusal_edge", margin + (tooth.restoration.planned_edge_mm or 0))
    edge = None if today is None else today - lines.treatment.extruded_mm + given_up.bite_raised_mm
    own = tooth.restoration.convergence_deg
    source: ConvergenceFrom = "route" if narrowed is not None else "assumed" if own is None else "case"
    return RestorationBasis(
        planned=planned,
        route=route,
        neck=neck_of(tooth),
        convergence_deg=planned.wishes.convergence_deg if narrowed is None else narrowed,
        convergence_from=source,
        grooves=given_up.grooves,
        reduction_mm=reduction,
        finish_mm=lines.finish_mm,
        top_mm=None if edge is None else edge - reduction,
        edge_mm=edge,
        cej_mm=crest + planned.draws.limits.healthy_crest_below_cej_mm if cej is None else cej,
        cej_read=cej is not None,
        crest_mm=crest,
        bone_mm=lines.treatment.bone_mm,
        extruded_mm=lines.treatment.extruded_mm,
    )


def diameter_mm(widths_mm: tuple[float, float], towards_deg: Floats) -> Floats:
    """Return the width of the oval neck along directions. [mm]"""
    facial, mesial = widths_mm
    angle = np.deg2rad(towards_deg)
    return np.asarray(facial * mesial / np.hypot(mesial * np.cos(angle), facial * np.sin(angle)))


def neck_of(tooth: Tooth) -> Neck:
    """Return the widths at the neck: as recorded, else the handbook's. A width that was not read leaves the neck not read."""
    widths = tooth.facts.neck_width_mm or Widths()
    facial_oral, mesiodistal = (2 * half for half in half_axes_mm(tooth.number))
    kind = f"tooth.{arch(tooth.number)}{tooth.number % 10}"
    widest = (
        _or(widths.facial_oral, get(f"{kind}.bl_cervix_mm").high),
        _or(widths.mesiodistal, get(f"{kind}.md_cervix_mm").high),
    )
    return Neck(
        facial_oral_mm=_or(widths.facial_oral, facial_oral),
        mesiodistal_mm=_or(widths.mesiodistal, mesiodistal),
        widest_mm=widest,
        read=None not in (widths.facial_oral, widths.mesiodistal),
    )


def _or(read_mm: float | None, handbook_mm: float) -> float:
    return float(handbook_mm if read_mm is None else read_mm)


def _mean(planned: PlannedTooth, level: str, zero_mm: Floats | None = None) -> Floats | None:
    """Return the mean of a level in the tooth frame; None where it was not read."""
    found = planned.draws.levels.get(level)
    zero = planned.draws.margin_mm if zero_mm is None else zero_mm
    return None if found is None else np.asarray(found.mean + zero)
