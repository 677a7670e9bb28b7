"""Tissues as heat sees them."""

from dataclasses import dataclass
from typing import Literal

from collum.evidence import value

TissueName = Literal["gingiva", "bone", "dentine", "enamel"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Tissue:
    """Conductivity [mW/(mm K)], heat capacity [mJ/(mm3 K)] and cooling by blood [mW/(mm3 K)]."""

    conductivity: float
    capacity: float
    perfusion: float


def tissue(name: TissueName, *, perfusion_share: float) -> Tissue:
    """Return a tissue with a share of its healthy perfusion: 0 is the safe case. Only gingiva has one that is known."""
    return Tissue(
        conductivity=value(f"heat.{name}.conductivity"),
        capacity=value(f"heat.{name}.capacity"),
        perfusion=perfusion_share * value("heat.gingiva.perfusion") if name == "gingiva" else 0,
    )
