"""How an abutment gives way, from the area of root that is still attached; where units stand and how hard they are bitten on.

The ligament is a thin elastic layer of modulus E, Poisson's ratio nu and thickness t on a round root of attached area A and
length L in bone, the bone rigid. Pushed along its axis the root shears it: k = G A / t, G = E / (2 (1 + nu)). Pushed sideways
half of it is pressed and half is sheared: k_side = (E + G) A / (2 t). Tipped, the root turns about its middle: k_side L2 / 12
from the side walls and k r2 / 2 from the shear along them, r = A / (2 pi L).

Derived; published moduli of the ligament differ by more than twenty times and tables of area by up to two, so a stiffness comes
as low, middle and high. Several roots are taken as one of the same area. Only what hardly differs between the three may be
concluded.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from collum.core.bridge.beam import Section, Span, Support
from collum.core.bridge.rules import TABLES, Material, root_area_mm2
from collum.core.ring import Floats
from collum.evidence import get, value

Case = Literal["low", "middle", "high"]
CASES: tuple[Case, ...] = ("low", "middle", "high")


@dataclass(frozen=True, slots=True, kw_only=True)
class GivingWay:
    """The stiffness of one abutment at the low, middle and high end of what is published."""

    low: Support
    middle: Support
    high: Support

    def at(self, case: Case) -> Support:
        """Return one of the three."""
        return {"low": self.low, "middle": self.middle, "high": self.high}[case]


def support_of_root(area_mm2: float, length_in_bone_mm: float, modulus_mpa: float) -> Support:
    """Return the stiffness of a root by the formulas above. Raises ValueError where area, length or modulus is not above 0."""
    sizes = (area_mm2, length_in_bone_mm, modulus_mpa)
    if not (np.isfinite(sizes).all() and min(sizes) > 0):
        raise ValueError("attached area, length in bone and modulus have to be above 0")
    shear = modulus_mpa / (2 * (1 + value("bridge.ligament.poisson")))
    over_thickness = area_mm2 / value("bridge.ligament.thickness_mm")
    vertical = shear * over_thickness
    sideways = (modulus_mpa + shear) * over_thickness / 2
    radius = area_mm2 / (2 * np.pi * length_in_bone_mm)
    tilt = sideways * length_in_bone_mm**2 / 12 + vertical * radius**2 / 2
    return Support(vertical_n_per_mm=vertical, tilt_nmm_per_rad=tilt)


def giving_way(kind: str, attached_share: float, length_in_bone_mm: float) -> GivingWay:
    """Return low, middle and high stiffness of a kind of tooth. Raises ValueError as `support_of_root`, or for an unknown kind.

    Low: least modulus and least table; middle: the registry's modulus and the first table that has the tooth; high: the most.
    """
    areas = [area for table in TABLES if (area := root_area_mm2(kind, table)) is not None]
    if not areas:
        raise ValueError(f"{kind}: no table has its area of root")
    modulus = get("bridge.ligament.modulus_mpa")
    low, middle, high = (
        support_of_root(area * attached_share, length_in_bone_mm, stiffness)
        for area, stiffness in ((min(areas), modulus.low), (areas[0], modulus.value), (max(areas), modulus.high))
    )
    return GivingWay(low=low, middle=middle, high=high)


def span_of(
    places_mm: ArrayLike, abutments: Sequence[GivingWay | None], sections: Sequence[Section], material: Material, case: Case
) -> Span:
    """Return the span of a bridge at one end of the published stiffness. Raises ValueError as `Span`."""
    return Span(
        places_mm=np.asarray(places_mm, dtype=float),
        supports=tuple(None if giving is None else giving.at(case) for giving in abutments),
        sections=tuple(sections),
        modulus_mpa=value(f"bridge.modulus.{material}_mpa"),
        poisson=value("bridge.poisson"),
    )


def arch_places_mm(widths_mm: ArrayLike, before_mm: float, jaw: Literal["upper", "lower"]) -> Floats:
    """Return (n, 2) middles of units of (n,) widths along an average arch, x to one side, y backward, midline at 0. [mm]

    `before_mm` is the way along the arch from the midline to the near edge of the first unit, negative on the other side. The
    arch is a parabola, y = x2 / (2 r); its length s from the midline is (r / 2)(t sqrt(1 + t2) + asinh t), t = x / r.
    """
    widths = np.asarray(widths_mm, dtype=float)
    along = before_mm + np.cumsum(widths) - widths / 2
    radius = value(f"bridge.arch.{jaw}_front_radius_mm")
    t = _invert_length(2 * along / radius)
    return np.column_stack([radius * t, radius * t**2 / 2])


def _invert_length(twice: Floats) -> Floats:
    """Return t with t sqrt(1 + t2) + asinh t = `twice`, by Newton; convex from 0 on, so twice / 2 comes down evenly."""
    t = twice / 2
    for _ in range(40):
        root = np.sqrt(1 + t**2)
        t = t - (t * root + np.arcsinh(t) - twice) / (2 * root)
    return np.asarray(t)


def bite_n(position: int) -> float:
    """Return the greatest bite expected on a tooth, counted from the midline (1 to 8). [N]

    Front teeth bear a published share of it, premolars and canines one of ours between; molars all of it.
    """
    names = {1: "incisor", 2: "incisor", 3: "canine", 4: "premolar", 5: "premolar"}
    share = value(f"bridge.bite.share.{names[position]}") if position in names else 1.0
    return value("bridge.bite.largest_n") * share


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadCase:
    """Loads on the units: the greatest bite on one unit (`bite`, with its index), or chewing shared over all (`chewing`)."""

    key: Literal["bite", "chewing"]
    unit: int | None
    loads_n: Floats


def load_cases(positions: Sequence[int]) -> tuple[LoadCase, ...]:
    """Return the load cases of units at these positions from the midline: a bite on each in turn, then chewing on all."""
    bites = np.array([bite_n(position) for position in positions])
    alone = [LoadCase(key="bite", unit=i, loads_n=np.where(np.arange(len(bites)) == i, bites, 0)) for i in range(len(bites))]
    together = value("bridge.bite.chewing_n") * bites / bites.sum()
    return (*alone, LoadCase(key="chewing", unit=None, loads_n=together))
