"""The preparation on its finish line: what resists as the crown tips in every direction, and what would make it resist.

The wall stands on the oval of the neck along the finish line as it is, uneven, and leans inward from there up to the top. Its
facets are tested, so that a low place counts where it is. How much more height, or how little convergence, would do is searched
on the same facets; what single changes gain and cost is measured on an even preparation of the same mean height. The verdict is
that over the draws. Where the neck was not measured, it is kept only if it holds for the widest neck of the handbook as well.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from collum.core.crown.form import HALF, resistive_share
from collum.core.preparation.facet_resistance import Resistance, resistance
from collum.core.preparation.gains import Gain, gains
from collum.core.preparation.made import PreparationDesign
from collum.core.preparation.made_facets import facets
from collum.core.ring import STATIONS, STATIONS_DEG, Floats, interpolate_ring
from collum.core.surface.preparation_surface import PreparationSurface, preparation_surface
from collum.core.surface.surface_error import SurfaceError
from collum.evidence import get
from collum.plan.lengthening.requirements.requirement import EVERYWHERE
from collum.plan.lengthening.requirements.verdict import Graded, Reserve, grade
from collum.plan.restoration.basis import RestorationBasis, diameter_mm
from collum.plan.restoration.route_draws import RouteDraws, resistance_room_mm, weakest_share
from collum.vocabulary import Verdict

NoPreparation = Literal["edge_not_known", "line_above_top", "walls_meet", "no_angle"]

_AROUND, _LEVELS = 72, 12
_HALVED = 1024  # how finely a remedy is searched: a hundredth of a millimetre over ten
_EVERY = 2  # directions left out of the search


@dataclass(frozen=True, slots=True, kw_only=True)
class Remedies:
    """What would make half of every wall resist. None where nothing of that kind does, or nothing is needed.

    `height_mm` more height all round; `convergence_deg` with the same top, `recut_mm` the tooth this costs at the neck of each
    side on the mean; `grooves_share`: of the weakest wall, with grooves between the teeth.
    """

    height_mm: float | None
    convergence_deg: float | None
    recut_mm: float | None
    grooves_share: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Preparation:
    """The preparation and what resists. `share` (36,): of the wall opposite to each direction; `weakest`: index of the least.

    `graded`: over the draws, before what was not measured lowers it; `weakest_draws` (n,): the least share in each.
    `gains`: on the even preparation.
    """

    height_mm: Floats
    wall_mm2: float
    top_mm2: float
    share: Floats
    area_mm2: Floats
    weakest: int
    verdict: Verdict
    graded: Graded
    weakest_draws: Floats
    remedies: Remedies
    gains: tuple[Gain, ...]


def preparation_of(basis: RestorationBasis, draws: RouteDraws) -> Preparation | NoPreparation:
    """Return the preparation of a route, or why there is none."""
    height = basis.height_mm
    if height is None:
        return "edge_not_known"
    if basis.convergence_deg <= 0:
        return "no_angle"
    if height.min() <= 0:
        return "line_above_top"
    widths = (basis.neck.facial_oral_mm, basis.neck.mesiodistal_mm)
    if height.max() * np.tan(_taper_rad(basis)) >= min(widths) / 2:
        return "walls_meet"
    surface = _surface(basis, height, widths)
    found = resistance(surface, (1, 0, 0), (0, 1, 0), STATIONS_DEG)
    share = _shares(basis, found, height, widths)
    weakest = int(np.argmin(share))
    remedies = _remedies(basis, height, widths, share)
    graded, room = _graded(basis, draws, share, widths)
    return Preparation(
        height_mm=height,
        wall_mm2=surface.wall_area_mm2(),
        top_mm2=surface.top_area_mm2(),
        share=share,
        area_mm2=found.area_mm2,
        weakest=weakest,
        verdict=_verdict(basis, draws, height, graded),
        graded=graded,
        weakest_draws=weakest_share(basis, draws, room),
        remedies=remedies,
        gains=_gains(basis, height, widths),
    )


def gain_share(basis: RestorationBasis, gain: Gain, preparation: Preparation) -> float | None:
    """Return the share of the weakest wall that resists after a change; None where the change cannot be made.

    Grooves and boxes between the teeth halve what the crown rolls over from facial to oral; the other walls stay as they are.
    """
    if gain.resistance is None:
        return None
    if gain.key in ("proximal_grooves", "proximal_boxes"):
        widths = (basis.neck.facial_oral_mm, basis.neck.mesiodistal_mm)
        return float(np.maximum(preparation.share, _grooved(basis, preparation.height_mm, widths)).min())
    return float(np.nanmin(gain.resistance.share_in_section))


def _graded(basis: RestorationBasis, draws: RouteDraws, share: Floats, widths: tuple[float, float]) -> tuple[Graded, Floats]:
    """Return the verdict over the draws, with the room (36, n) of every wall in each."""
    room = resistance_room_mm(basis, draws, share, widths)
    reserve = Reserve(rule=basis.wishes.rule("resistance"), amount=room, stations=EVERYWHERE, smooth=False)
    return grade(reserve, reserve.least(basis.limits), basis.limits), room


def _verdict(basis: RestorationBasis, draws: RouteDraws, height: Floats, graded: Graded) -> Verdict:
    """Kept only where what was not measured could not change that."""
    if graded.verdict != "kept":
        return graded.verdict
    if basis.convergence_from == "assumed":
        return "in doubt"
    if basis.neck.read:
        return "kept"
    wide = basis.neck.widest_mm
    found = resistance(_surface(basis, height, wide), (1, 0, 0), (0, 1, 0), STATIONS_DEG)
    at_widest, _ = _graded(basis, draws, _shares(basis, found, height, wide), wide)
    return "kept" if at_widest.verdict == "kept" else "in doubt"


def _shares(basis: RestorationBasis, found: Resistance, height: Floats, widths: tuple[float, float]) -> Floats:
    shares = np.nan_to_num(found.share_in_section)
    return np.maximum(shares, _grooved(basis, height, widths)) if basis.grooves else shares


def _grooved(basis: RestorationBasis, height: Floats, widths: tuple[float, float]) -> Floats:
    """Return (36,) what grooves between the teeth give as the crown tips to facial and oral; 0 for the other directions."""
    base = diameter_mm(widths, STATIONS_DEG) * basis.limits.groove_base_share
    share = resistive_share(_opposite(height), base, basis.convergence_deg)
    return np.where(basis.across_grooves, share, 0)


def _remedies(basis: RestorationBasis, height: Floats, widths: tuple[float, float], share: Floats) -> Remedies:
    grooves = float(np.maximum(share, _grooved(basis, height, widths)).min())
    if share.min() >= HALF:
        return Remedies(height_mm=None, convergence_deg=None, recut_mm=None, grooves_share=grooves)
    mean = float(height.mean())

    def recut_mm(to_deg: float) -> float:
        return float(mean * (np.tan(_taper_rad(basis)) - np.tan(np.deg2rad(to_deg / 2))))

    def with_height(more_mm: float) -> float:
        return _least_share(basis, height + more_mm, widths)

    def with_convergence(less_deg: float) -> float:
        to = basis.convergence_deg - less_deg
        narrower = (widths[0] - 2 * recut_mm(to), widths[1] - 2 * recut_mm(to))
        return _least_share(replace(basis, convergence_deg=to), height, narrower)

    apex = min(widths) / 2 / np.tan(_taper_rad(basis))
    more = _least(with_height, min(float(apex - height.max()), get("case.range.crown_height_mm").high))
    less = _least(with_convergence, basis.convergence_deg)
    to = None if less is None else basis.convergence_deg - less
    return Remedies(height_mm=more, convergence_deg=to, recut_mm=None if to is None else recut_mm(to), grooves_share=grooves)


def _least(share_with: Callable[[float], float], most: float) -> float | None:
    """Return the least amount, up to `most`, with which half resists, by halving; None where not even nearly all of it does."""
    low, high = 0.0, most * (1 - 1 / _HALVED**2)
    if high <= 0 or share_with(high) < HALF:
        return None
    while high - low > most / _HALVED:
        middle = (low + high) / 2
        low, high = (low, middle) if share_with(middle) >= HALF else (middle, high)
    return high


def _least_share(basis: RestorationBasis, height: Floats, widths: tuple[float, float]) -> float:
    if height.max() * np.tan(_taper_rad(basis)) >= min(widths) / 2:
        return 0
    try:
        surface = _surface(basis, height, widths)
    except SurfaceError:  # so uneven a line leaves no wall along the path
        return 0
    found = resistance(surface, (1, 0, 0), (0, 1, 0), STATIONS_DEG[::_EVERY])
    return float(np.nan_to_num(found.share_in_section).min())


def _gains(basis: RestorationBasis, height: Floats, widths: tuple[float, float]) -> tuple[Gain, ...]:
    design = PreparationDesign(
        facial_oral_mm=widths[0],
        mesiodistal_mm=widths[1],
        height_mm=float(height.mean()),
        convergence_facial_oral_deg=basis.convergence_deg,
        convergence_mesiodistal_deg=basis.convergence_deg,
    )
    return gains(design)[1]


def _surface(basis: RestorationBasis, height: Floats, widths: tuple[float, float]) -> PreparationSurface:
    """Return the facets: rows of ovals that shrink from the neck upward, and a fan to the middle of the top."""
    angles = np.arange(0, 360, 360 / _AROUND)
    finish = interpolate_ring(angles, STATIONS_DEG, basis.finish_mm)
    tall = interpolate_ring(angles, STATIONS_DEG, height)
    rings = [_ring(widths, angles, finish, share * tall, _taper_rad(basis)) for share in np.linspace(0, 1, _LEVELS + 1)]
    middle = [0, 0, float((finish + tall).mean())]
    return preparation_surface(np.concatenate([*rings, [middle]]), facets(_LEVELS, rings[-1][:, :2], []), (0, 0, 1))


def _ring(widths: tuple[float, float], angles: Floats, finish: Floats, above: Floats, taper_rad: float) -> Floats:
    inward = above * np.tan(taper_rad)
    facial, mesial = (width / 2 - inward for width in widths)
    angle = np.deg2rad(angles)
    radius = facial * mesial / np.hypot(mesial * np.cos(angle), facial * np.sin(angle))
    return np.column_stack([radius * np.cos(angle), radius * np.sin(angle), finish + above])


def _opposite(line: Floats) -> Floats:
    """Return the line as met across the tooth: the wall that resists stands opposite to where the crown tips."""
    return np.roll(line, -STATIONS // 2)


def _taper_rad(basis: RestorationBasis) -> float:
    return float(np.deg2rad(basis.convergence_deg / 2))
