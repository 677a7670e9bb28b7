"""Limits of the organs: the highest temperature or rise, and the highest dose, each judged over a whole round."""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from collum.core.heat.damage import dose_min
from collum.core.heat.superposition import HeatCourse, Organ
from collum.core.ring import Floats
from collum.evidence import value

ORGANS: tuple[Organ, ...] = ("bone", "ligament", "pulp", "soft_tissue")


@dataclass(frozen=True, slots=True, kw_only=True)
class OrganLimit:
    """Highest rise above rest and, where one is known, highest dose in equivalent minutes at 43 degC."""

    organ: Organ
    rise_degC: float
    dose_min: float | None

    @staticmethod
    def of(organ: Organ) -> "OrganLimit":
        """Return the limit of an organ from the registry."""
        if organ in ("ligament", "pulp"):
            return OrganLimit(organ=organ, rise_degC=value(f"heat.limit.{organ}_rise_degc"), dose_min=None)
        return OrganLimit(
            organ=organ,
            rise_degC=value(f"heat.limit.{organ}_degc") - value("heat.rest_degc"),
            dose_min=value(f"heat.limit.{organ}_dose_min"),
        )


LimitKind = Literal["rise", "dose"]


@dataclass(frozen=True, slots=True, kw_only=True)
class OrganVerdict:
    """How much of its limits an organ uses over a course: 1 is the limit, more is too much.

    share is the greater of the two; kind says which limit that is; point and instant_s where and when the rise was greatest;
    dose_trusted is False where the temperature left the range in which the dose means anything; then only the rise counts.
    """

    organ: Organ
    share: float
    kind: LimitKind
    point: int
    instant_s: float
    dose_trusted: bool

    @property
    def holds(self) -> bool:
        """Whether the organ stays within its limits."""
        return self.share <= 1


def judge_course(course: HeatCourse) -> tuple[OrganVerdict, ...]:
    """Return one verdict for each organ that a course watches, in the order bone, ligament, pulp, soft tissue.

    Parameters
    ----------
    course : HeatCourse
        Rise over a whole round (P, T) [K].

    Returns
    -------
    tuple of OrganVerdict
        Share of the limit used [1], and where and when [s] the rise was greatest.

    Source
    ------
    Limits [eriksson1983, wilcox2001, zach_cohen1965, vanrhoon2013, collum_decision]; dose as in `dose_min`; shares derived.

    Examples
    --------
    Bone that stays 5 K above rest for ten seconds.

    >>> course = HeatCourse(times_s=np.array([0.0, 10]), rise_degC=np.array([[5.0, 5]]), organs=("bone",))
    >>> [(verdict.organ, verdict.kind, round(verdict.share, 2)) for verdict in judge_course(course)]
    [('bone', 'rise', 0.5)]
    """
    organs = np.array(course.organs)
    return tuple(_verdict(course, organ, np.flatnonzero(organs == organ)) for organ in ORGANS if organ in course.organs)


def _verdict(course: HeatCourse, organ: Organ, points: NDArray[np.int64]) -> OrganVerdict:
    limit = OrganLimit.of(organ)
    rise = course.rise_degC[points]
    point, instant = np.unravel_index(int(rise.argmax()), rise.shape)
    peak = float(rise[point, instant])
    trusted = value("heat.rest_degc") + peak <= value("heat.dose.trusted_to_degc")
    shares: dict[LimitKind, float] = {"rise": peak / limit.rise_degC}
    if limit.dose_min is not None and trusted:
        shares["dose"] = float(_dose(course.times_s, rise).max()) / limit.dose_min
    kind = max(shares, key=lambda name: shares[name])
    return OrganVerdict(
        organ=organ,
        share=shares[kind],
        kind=kind,
        point=int(points[point]),
        instant_s=float(course.times_s[instant]),
        dose_trusted=trusted,
    )


def _dose(times_s: Floats, rise_degC: Floats) -> Floats:
    return dose_min(times_s, value("heat.rest_degc") + rise_degC)
