"""A bridge under its load cases at low, middle and high stiffness of the abutments: what bends, who carries, what pulls."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from collum.core.bridge.abutment import CASES, GivingWay, LoadCase, load_cases, span_of
from collum.core.bridge.beam import Bent, Section, bend, connector_stress_mpa
from collum.core.bridge.rules import Material
from collum.core.ring import Floats

Sure = Literal["sure", "depends_on_stiffness"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Carried:
    """What n units bear in c load cases at low, middle and high stiffness (3, c, ...).

    stress_mpa (3, c, n - 1) greatest bending stress at the connectors; moment_nmm and torque_nmm the same shape; share
    (3, c, n) of the load each abutment bears, negative where it is pulled; deflection_mm (3, c, n); imbalance, the worst.
    """

    cases: tuple[LoadCase, ...]
    stress_mpa: Floats
    moment_nmm: Floats
    torque_nmm: Floats
    share: Floats
    deflection_mm: Floats
    imbalance: float

    def worst_stress_mpa(self) -> Floats:
        """Return (3, n - 1) the greatest stress of each connector over the load cases, at each stiffness. [MPa]"""
        return np.asarray(self.stress_mpa.max(axis=1))

    def pulled(self) -> tuple[tuple[int, Sure], ...]:
        """Return the abutments a load case pulls out of the socket, and whether all three stiffnesses say so."""
        least = self.share.min(axis=1)
        noise = np.sqrt(np.finfo(float).eps)
        out = (least < -noise).sum(axis=0)
        return tuple((int(i), "sure" if out[i] == len(CASES) else "depends_on_stiffness") for i in np.flatnonzero(out))


def carried(
    places_mm: ArrayLike,
    abutments: Sequence[GivingWay | None],
    sections: Sequence[Section],
    material: Material,
    positions: Sequence[int],
    connector_share: ArrayLike = 0.5,
) -> Carried:
    """Return what a bridge bears. `positions` from the midline (1 to 8); `connector_share` is how far along each piece it sits.

    The piece between the middles of two units has the connector's section all along: the safe side for bending. Raises
    ValueError as `Span` and `bend`.
    """
    cases = load_cases(positions)
    spans = [span_of(places_mm, abutments, sections, material, end) for end in CASES]
    bent = [[bend(span, case.loads_n) for case in cases] for span in spans]
    totals = np.array([case.loads_n.sum() for case in cases])[:, None]
    return Carried(
        cases=cases,
        stress_mpa=np.array(
            [[connector_stress_mpa(span, one, connector_share) for one in row] for span, row in zip(spans, bent, strict=True)]
        ),
        moment_nmm=_stack([[one.moment_at_nmm(connector_share) for one in row] for row in bent]),
        torque_nmm=_stack([[one.torque_nmm for one in row] for row in bent]),
        share=_stack([[one.reaction_n for one in row] for row in bent]) / totals,
        deflection_mm=_stack([[one.deflection_mm for one in row] for row in bent]),
        imbalance=_worst(bent),
    )


def _stack(rows: Sequence[Sequence[Floats]]) -> Floats:
    return np.array([np.array(row) for row in rows])


def _worst(bent: Sequence[Sequence[Bent]]) -> float:
    return max(one.imbalance for row in bent for one in row)
