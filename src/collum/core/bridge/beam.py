"""A bridge as a beam on elastic abutments, loaded at right angles to the plane it lies in.

Every unit (abutment or pontic) is a place in that plane; between neighbouring places runs a straight prismatic piece that bends
(Euler and Bernoulli) and twists (Saint-Venant). An abutment gives way to the load, and to being tipped, in proportion: a spring
each. So a straight span is the beam of the textbooks, and a curved one turns about the line between its abutments.

Unknowns of a place: deflection w, positive along the load, and the two slopes of the unit, dw/dx and dw/dy. A support moment
is the spring's answer to such a slope. Not covered: shear deformation (a connector as high as it is long bends more than said
here), loads across the plane, contact that is lost, ligament that stiffens under load, a jaw that bends.
"""

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from collum.core.bridge.beam_solver import motions
from collum.core.ring import Floats

_ODD_TERMS = 200  # of the series of the torsion of a rectangle; the rest is below 1e-12 of it


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """The cross-section of a connector: height along the load, width across it."""

    height_mm: float
    width_mm: float
    shape: Literal["rectangle", "ellipse"] = "rectangle"

    def area_mm2(self) -> float:
        """Return the area. [mm2]"""
        return self.height_mm * self.width_mm * (1.0 if self.shape == "rectangle" else math.pi / 4)

    def second_moment_mm4(self) -> float:
        """Return the second moment of area in bending along the height, b h3 / 12 or pi b h3 / 64. [mm4]"""
        return self.width_mm * self.height_mm**3 * (1 / 12 if self.shape == "rectangle" else math.pi / 64)

    def section_modulus_mm3(self) -> float:
        """Return bending moment over greatest bending stress. [mm3]"""
        return self.second_moment_mm4() / (self.height_mm / 2)

    def torsion_constant_mm4(self) -> float:
        """Return J, torque = G J twist per length: exact for an ellipse, the series of Saint-Venant for a rectangle. [mm4]"""
        long, short = max(self.height_mm, self.width_mm), min(self.height_mm, self.width_mm)
        if self.shape == "ellipse":
            return math.pi * long**3 * short**3 / (16 * (long**2 + short**2))
        odd = np.arange(1, 2 * _ODD_TERMS, 2)
        series = float(np.sum(np.tanh(odd * np.pi * long / (2 * short)) / odd**5))
        return long * short**3 * (1 / 3 - 64 * short / (np.pi**5 * long) * series)


@dataclass(frozen=True, slots=True, kw_only=True)
class Support:
    """How an abutment gives way: to load and to tipping, the same towards every side. inf is rigid, 0 is free."""

    vertical_n_per_mm: float
    tilt_nmm_per_rad: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """Units in order along the arch: places_mm (n, 2), a support or None each, and the n - 1 sections between them."""

    places_mm: Floats
    supports: tuple[Support | None, ...]
    sections: tuple[Section, ...]
    modulus_mpa: float
    poisson: float

    def __post_init__(self) -> None:
        count = len(self.supports)
        if np.shape(self.places_mm) != (count, 2) or not self.sections or len(self.sections) != count - 1:
            raise ValueError("a span has n places, n supports or gaps, and n - 1 sections, n at least 2")
        sizes = [self.modulus_mpa, *(size for s in self.sections for size in (s.height_mm, s.width_mm)), *_lengths(self)]
        if not (np.isfinite(sizes).all() and min(sizes) > 0):
            raise ValueError("lengths, sections and modulus have to be above 0")
        if any(s and min(s.vertical_n_per_mm, s.tilt_nmm_per_rad) < 0 for s in self.supports):
            raise ValueError("a support cannot push back less than nothing")


@dataclass(frozen=True, slots=True, kw_only=True)
class Bent:
    """What a loaded span does; n units, n - 1 connectors.

    deflection_mm (n,), slope (n, 2); moment_nmm (n - 1, 2) bending at both ends of each piece, positive where the side away
    from the load is stretched; torque_nmm and shear_n (n - 1,); reaction_n (n,) positive against the load, negative where the
    abutment is pulled; support_moment_nmm (n, 2). `imbalance`: greatest lack of equilibrium, as a share of load and of load
    times length.
    """

    deflection_mm: Floats
    slope: Floats
    moment_nmm: Floats
    torque_nmm: Floats
    shear_n: Floats
    reaction_n: Floats
    support_moment_nmm: Floats
    imbalance: float

    def moment_at_nmm(self, share: ArrayLike = 0.5) -> Floats:
        """Return (n - 1,) bending moments at a share of the way along each piece, by default half-way. [N mm]"""
        along = np.asarray(share, dtype=float)
        return np.asarray((1 - along) * self.moment_nmm[:, 0] + along * self.moment_nmm[:, 1])


def bend(span: Span, loads_n: ArrayLike) -> Bent:
    """Return how the span bears (n,) loads on its units. Raises NotHeld, and ValueError where the loads do not fit."""
    loads = np.asarray(loads_n, dtype=float)
    if loads.shape != (len(span.supports),) or not np.isfinite(loads).all():
        raise ValueError("one load for each unit, in N")
    pieces = _piece_matrices(span)
    stiffness = np.zeros((3 * len(loads), 3 * len(loads)))
    for i, piece in enumerate(pieces):
        stiffness[3 * i : 3 * i + 6, 3 * i : 3 * i + 6] += piece
    force = np.zeros(3 * len(loads))
    force[::3] = loads
    springs = _springs(span)
    moved, bending = motions(stiffness, springs, np.asarray(span.places_mm, dtype=float), force)
    held = np.isinf(springs)
    answers = np.where(held, force - stiffness @ moved, np.where(held, 0, springs) * moved)
    return _bent(span, loads, moved.reshape(-1, 3), bending.reshape(-1, 3), answers.reshape(-1, 3))


def simple_span_deflection_mm(load_n: float, length_mm: float, modulus_mpa: float, section: Section) -> float:
    """Return the deflection under a load in the middle of a span on two knife edges, F L3 / (48 E I). [mm]"""
    return load_n * length_mm**3 / (48 * modulus_mpa * section.second_moment_mm4())


def connector_stress_mpa(span: Span, bent: Bent, share: ArrayLike = 0.5) -> Floats:
    """Return (n - 1,) greatest bending stress in each connector, at a share of the way along its piece. [MPa]"""
    moduli = np.array([section.section_modulus_mm3() for section in span.sections])
    return np.asarray(np.abs(bent.moment_at_nmm(share)) / moduli)


def _lengths(span: Span) -> Floats:
    return np.asarray(np.linalg.norm(np.diff(np.asarray(span.places_mm, dtype=float), axis=0), axis=1))


def _directions(span: Span) -> Floats:
    return np.asarray(np.diff(np.asarray(span.places_mm, dtype=float), axis=0) / _lengths(span)[:, None])


def _local(length: float, bending: float, torsion: float) -> Floats:
    """Return (6, 6) stiffness of a piece for w, slope along and slope across at both ends."""
    matrix = np.zeros((6, 6))
    bends = np.ix_((0, 1, 3, 4), (0, 1, 3, 4))
    long = 6 * length
    matrix[bends] = (bending / length**3) * np.array(
        [
            [12, long, -12, long],
            [long, 4 * length**2, -long, 2 * length**2],
            [-12, -long, 12, -long],
            [long, 2 * length**2, -long, 4 * length**2],
        ]
    )
    matrix[np.ix_((2, 5), (2, 5))] = torsion / length * np.array([[1, -1], [-1, 1]])
    return matrix


def _rotation(direction: Floats) -> Floats:
    """Return (6, 6) from w, dw/dx, dw/dy at both ends to w, slope along, slope across."""
    cosine, sine = direction
    one = np.array([[1, 0, 0], [0, cosine, sine], [0, -sine, cosine]])
    return np.kron(np.eye(2), one)


def _locals(span: Span) -> list[Floats]:
    shear_modulus = span.modulus_mpa / (2 * (1 + span.poisson))
    return [
        _local(length, span.modulus_mpa * section.second_moment_mm4(), shear_modulus * section.torsion_constant_mm4())
        for length, section in zip(_lengths(span), span.sections, strict=True)
    ]


def _piece_matrices(span: Span) -> list[Floats]:
    turned = [_rotation(direction) for direction in _directions(span)]
    return [turn.T @ local @ turn for turn, local in zip(turned, _locals(span), strict=True)]


def _springs(span: Span) -> Floats:
    """Return (3n,) stiffness of the supports, inf where rigid."""
    free = Support(vertical_n_per_mm=0, tilt_nmm_per_rad=0)
    values = [(s.vertical_n_per_mm, s.tilt_nmm_per_rad, s.tilt_nmm_per_rad) for s in (s or free for s in span.supports)]
    return np.array(values, dtype=float).reshape(-1)


def _bent(span: Span, loads: Floats, moved: Floats, bending: Floats, answers: Floats) -> Bent:
    ends = np.concatenate([bending[:-1], bending[1:]], axis=1)
    turned = [_rotation(direction) for direction in _directions(span)]
    inner = np.array([local @ turn @ end for local, turn, end in zip(_locals(span), turned, ends, strict=True)])
    return Bent(
        deflection_mm=moved[:, 0],
        slope=moved[:, 1:],
        moment_nmm=np.stack([inner[:, 1], -inner[:, 4]], axis=1),
        torque_nmm=inner[:, 5],
        shear_n=inner[:, 0],
        reaction_n=answers[:, 0],
        support_moment_nmm=answers[:, 1:],
        imbalance=_imbalance(span, loads, answers),
    )


def _imbalance(span: Span, loads: Floats, answers: Floats) -> float:
    """Return the greatest of the three sums (force, moment about both axes) over the load and the load times the length."""
    total = float(np.abs(loads).sum())
    if not total > 0:
        return 0.0
    places = np.asarray(span.places_mm, dtype=float)
    places = places - places.mean(axis=0)
    force = abs(float(loads.sum() - answers[:, 0].sum())) / total
    moments = loads @ places - answers[:, 0] @ places - answers[:, 1:].sum(axis=0)
    return max(force, float(np.abs(moments).max()) / (total * float(_lengths(span).sum())))
