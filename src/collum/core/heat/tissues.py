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
    """Return a tissue with a share of its healthy perfusion; the perfusion of gingiva alone is known.

    Parameters
    ----------
    name : TissueName
        "gingiva", "bone", "dentine" or "enamel".
    perfusion_share : float
        Share of the healthy perfusion [1]; 0 is the safe case.

    Returns
    -------
    Tissue
        Conductivity [mW/(mm K)], capacity [mJ/(mm3 K)] and perfusion [mW/(mm3 K)].

    Source
    ------
    [tissue_table_2019, itis_tissues, lin2010]; perfusion [hock_kim1987].

    Examples
    --------
    >>> tissue("gingiva", perfusion_share=0.5).perfusion, tissue("bone", perfusion_share=0.5).perfusion
    (0.0112, 0)
    """
    return Tissue(
        conductivity=value(f"heat.{name}.conductivity"),
        capacity=value(f"heat.{name}.capacity"),
        perfusion=perfusion_share * value("heat.gingiva.perfusion") if name == "gingiva" else 0,
    )
