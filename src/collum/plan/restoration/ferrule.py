"""The ferrule on a route's finish line, and how much more of it would be worth its bone."""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from collum.case.model import Tooth, site_angle_deg
from collum.core.crown.ferrule import FerruleMap, ferrule_map
from collum.core.crown.trade_off import Optimum, PostKind, best_gain
from collum.core.crown.trade_off import Route as Way
from collum.core.ring import QUARTER_DEG, STATIONS, STATIONS_DEG, Floats, angular_distance_deg, interpolate_ring
from collum.core.support.support import root_length_mm
from collum.plan.restoration.basis import RestorationBasis
from collum.plan.restoration.route_draws import RouteDraws, least_loaded_mm
from collum.vocabulary import Verdict

NoOptimum = Literal["vital", "ferrule_not_known", "edge_not_known", "outside_tested"]

_NEAR_DEG = QUARTER_DEG // 2  # a wall that was measured further away says nothing of this place
_BETWEEN = (STATIONS // 4, 3 * STATIONS // 4)


@dataclass(frozen=True, slots=True, kw_only=True)
class Trade:
    """The best gain of one way under one kind of post."""

    way: Way
    post: PostKind
    optimum: Optimum


@dataclass(frozen=True, slots=True, kw_only=True)
class Ferrule:
    """The map, heights (36,) at the stations (nan: not known), and the trade-off, or why there is none. [mm]

    Map and heights are those of the means; `least_draws_mm` (n,) is the least where the load is in every draw.
    """

    map: FerruleMap
    height_mm: Floats
    wanted_mm: float
    sound_wall: bool
    verdict: Verdict
    least_draws_mm: Floats | None
    trades: tuple[Trade, ...] | NoOptimum


def ferrule_of(basis: RestorationBasis, draws: RouteDraws) -> Ferrule:
    """Return the ferrule of a route."""
    height = _height_mm(basis, draws)
    wanted = basis.wishes.rule("ferrule").limit
    found = ferrule_map(
        STATIONS_DEG,
        height,
        wall_mm(basis.tooth),
        basis.wishes.loaded,
        axial_reduction_mm=basis.wishes.axial_reduction_mm,
        wanted_mm=wanted,
    )
    return Ferrule(
        map=found,
        height_mm=height,
        wanted_mm=wanted,
        sound_wall=basis.wishes.sound_wall,
        verdict=_verdict(basis, found),
        least_draws_mm=least_loaded_mm(basis, draws),
        trades=_trades(basis, found),
    )


def wall_mm(tooth: Tooth) -> Floats:
    """Return (36,) the thickness of the dentine wall, nan where none was measured near by. [mm]"""
    found = {
        site_angle_deg(site): np.mean([r.value_mm for r in readings if r.value_mm is not None])
        for site, readings in tooth.readings.get("wall_thickness", {}).items()
        if any(r.value_mm is not None for r in readings)
    }
    if not found:
        return np.full(STATIONS, np.nan)
    at = np.array(sorted(found))
    walls = interpolate_ring(STATIONS_DEG, at, np.array([found[angle] for angle in at.tolist()]))
    away = np.min([angular_distance_deg(STATIONS_DEG, angle) for angle in at], axis=0)
    return np.where(away <= _NEAR_DEG, walls, np.nan)


def _height_mm(basis: RestorationBasis, draws: RouteDraws) -> Floats:
    """Return (36,) sound edge, or the top of the preparation where lower, above the finish line; nan where it is not known.

    The sound edge is on the mean of the draws as the treatment leaves it: a tooth comes up by a little more or less in each.
    """
    if draws.sound_mm is None:
        return np.full(STATIONS, np.nan)
    sound = np.asarray(draws.sound_mm.mean(axis=1) - basis.finish_mm)
    return sound if basis.height_mm is None else np.minimum(sound, basis.height_mm)


def _verdict(basis: RestorationBasis, found: FerruleMap) -> Verdict:
    """Return what the plan finds over the draws; kept only on sound tooth that was seen, and on walls measured or vital."""
    planned, tooth = basis.verdict("ferrule"), basis.tooth
    if planned is None:
        return "not assessed"
    measured = (found.wall_measured or tooth.vital is True) and tooth.sound_measured is True
    return "in doubt" if planned[0] == "kept" and not measured else planned[0]


def _trades(basis: RestorationBasis, found: FerruleMap) -> tuple[Trade, ...] | NoOptimum:
    if basis.tooth.vital is True:
        return "vital"
    if found.least_loaded_mm is None:
        return "ferrule_not_known"
    if basis.edge_mm is None:
        return "edge_not_known"
    trades = []
    ways: tuple[Way, ...] = ("bone", "extrusion")
    posts: tuple[PostKind, ...] = ("fibre", "cast")
    for way in ways:
        for post in posts:
            best = best_gain(*_lengths(basis, found.least_loaded_mm), post=post, route=way)
            if best is not None:
                trades.append(Trade(way=way, post=post, optimum=best))
    return tuple(trades) or "outside_tested"


def _lengths(basis: RestorationBasis, ferrule_mm: float) -> tuple[float, float, float, float]:
    """Return ferrule, crown, root and crest below the junction as the route leaves them, between the teeth. [mm]

    A raised tooth is trimmed back to its old edge: what stands out of bone stays, the root in bone gets shorter.
    """
    between = list(_BETWEEN)
    assert basis.edge_mm is not None
    cej = basis.cej_mm[between].mean()
    crown = (basis.edge_mm + basis.extruded_mm)[between].mean() - cej
    root, _ = root_length_mm(basis.jaw, basis.position, basis.tooth.root.length_mm)
    below = cej - basis.crest_mm[between].mean() + basis.bone_mm[between].mean()
    return ferrule_mm, float(crown), root - basis.extruded_mm, float(below)
