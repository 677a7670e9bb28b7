"""What a class of cement holds along the axis: a range of force from wall area and convergence, never a promise.

Force = area x stress x g, with the hyperbola g = reference / convergence of the old measurements. It is used to widen the
range only: the lower end falls with a wide convergence, the upper end rises with a narrow one and stays as at the reference
where it is wide, because one study that was read found more than the hyperbola leaves there. A resin that bonds depends less
on the shape: its upper end gains nothing by a narrow convergence.

Not covered: fatigue, contamination, the fit of the crown, the second cementation of an old crown.
"""

from dataclasses import dataclass
from typing import Literal, get_args

import numpy as np
from numpy.typing import ArrayLike, NDArray

from collum.evidence import get, value

Floats = NDArray[np.float64]
Cement = Literal[
    "temporary",
    "zinc_phosphate",
    "polycarboxylate",
    "glass_ionomer",
    "resin_glass_ionomer",
    "self_adhesive_resin",
    "bonded_resin",
]

CEMENTS: tuple[Cement, ...] = get_args(Cement)
BONDING: frozenset[Cement] = frozenset({"self_adhesive_resin", "bonded_resin"})


@dataclass(frozen=True, slots=True, kw_only=True)
class RetentionRange:
    """Lower and upper end of the force that pulls the crown off, same shape each, with the key it rests on. [N]"""

    low_n: Floats
    high_n: Floats
    evidence: str


def retention_range(wall_mm2: ArrayLike, convergence_deg: ArrayLike, cement: Cement) -> RetentionRange:
    """Return the range of force that a class of cement holds along the axis.

    Parameters
    ----------
    wall_mm2 : array_like
        Area of the wall [mm2].
    convergence_deg : array_like
        Total convergence of two walls [deg], above 0.
    cement : str
        One of `CEMENTS`.

    Returns
    -------
    RetentionRange
        Least and greatest force [N]; an unknown (nan) gives an unknown.

    Raises
    ------
    ValueError
        For a negative area and a convergence of 0 or less.
    KeyError
        For a class that is none of `CEMENTS`.

    Source
    ------
    `retention.*` of the registry.

    Examples
    --------
    >>> steep = retention_range(100.0, 6.0, CEMENTS[0])
    >>> flat = retention_range(100.0, 24.0, CEMENTS[0])
    >>> bool(steep.low_n > flat.low_n)
    True
    """
    area, convergence = np.asarray(wall_mm2, dtype=float), np.asarray(convergence_deg, dtype=float)
    if np.any(area < 0):
        raise ValueError(f"wall area {np.nanmin(area)} mm2: cannot be negative")
    if np.any(convergence <= 0):
        raise ValueError(
            f"convergence {np.nanmin(convergence)} degrees: retention is not estimated for parallel or undercut walls"
        )
    record = get(f"retention.{cement}.mpa")
    followed = np.maximum(convergence, value("retention.least_convergence_deg"))
    shape = value("retention.reference_convergence_deg") / followed
    gain = np.minimum(shape, 1) if cement in BONDING else shape
    # N = mm2 x N/mm2
    return RetentionRange(
        low_n=np.asarray(area * record.low * np.minimum(shape, 1)),
        high_n=np.asarray(area * record.high * np.maximum(gain, 1)),
        evidence=record.key,
    )
