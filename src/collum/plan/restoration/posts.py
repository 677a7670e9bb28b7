"""The post window of every root of a tooth as a route leaves it, the thickest post there, and pins where walls are missing.

A vital tooth gets no post. The crest counts as it will be after bone work or movement.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from collum.case.facts import Widths
from collum.case.model import Tooth, site_angle_deg
from collum.core.post.pins import PinVerdict, pin_distances, pin_sizes_mm, pin_verdicts
from collum.core.post.post import PostSite, PostWindow, RootPlace, allowed_root, post_window, window_room_mm
from collum.core.post.post_diameter import PostDiameter, post_diameter
from collum.core.ring import STATIONS_DEG, Floats
from collum.evidence import value
from collum.plan.restoration.basis import RestorationBasis, diameter_mm
from collum.plan.restoration.route_draws import RouteDraws, root_mm

PinState = Literal["enough", "short", "not assessed"]

_UPPER_FIRST_PREMOLAR = 4
_ROUNDS = 8  # moving in along the ray gains a little less than its length on an oval


@dataclass(frozen=True, slots=True, kw_only=True)
class Post:
    """One root: its window, and the thickest post at the shortest length; None where no post may stand there.

    `finish_below_cej_mm`: where the length counts from. `probability`: the share of draws in which the rules that could be
    assessed leave a length; None for no post.
    """

    root: RootPlace
    window: PostWindow
    diameter: PostDiameter | None
    finish_below_cej_mm: float
    probability: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Pins:
    """Pins of one size, one at each site where a wall is missing; each with its verdict, and the worst of all."""

    diameter_mm: float
    sites: tuple[str, ...]
    positions_mm: Floats
    verdicts: tuple[PinVerdict, ...]
    state: PinState


def posts_of(basis: RestorationBasis, draws: RouteDraws) -> tuple[Post, ...]:
    """Return every root, those where a post may stand first."""
    roots = roots_of(basis)
    found = [_post(basis, draws, root, rooted=len(roots) > 1) for root in roots]
    return tuple(sorted(found, key=lambda post: post.window.status == "no post"))


def roots_of(basis: RestorationBasis) -> tuple[RootPlace, ...]:
    """Return the roots of the tooth, by the handbook."""
    if basis.molar:
        return ("oral", "facial") if basis.jaw == "upper" else ("distal", "mesial")
    if basis.jaw == "upper" and basis.position == _UPPER_FIRST_PREMOLAR:
        return ("oral", "facial")
    return ("single",)


def pins_of(basis: RestorationBasis) -> tuple[Pins, ...]:
    """Return pins of every size where the case names missing walls; none where it names none.

    Each stands as near to the surface as is allowed, within the finish line: furthest from the pulp.
    """
    sites = tuple(dict.fromkeys(basis.tooth.facts.missing_walls or ()))
    return tuple(_pins(basis, sites, size) for size in pin_sizes_mm()) if sites else ()


def _post(basis: RestorationBasis, draws: RouteDraws, root: RootPlace, *, rooted: bool) -> Post:
    tooth = basis.tooth
    filling = tooth.facts.root_filling
    finish = float((basis.cej_mm - basis.finish_mm).mean())
    measured = tooth.root.length_mm if not rooted or allowed_root(basis.jaw, basis.position, root) else None
    window = post_window(
        PostSite(
            jaw=basis.jaw,
            position=basis.position,
            root=root,
            vital=tooth.vital,
            root_mm=measured,
            finish_line_mm=finish,
            crown_mm=None if basis.edge_mm is None else float((basis.edge_mm - basis.finish_mm).mean()),
            crest_mm=float((basis.cej_mm - basis.crest_mm).mean()),
            bone_removed_mm=float(basis.bone_mm.mean()),
            extruded_mm=basis.extruded_mm,
            sound_filling_mm=None if filling is None else filling.sound_length_mm,
        )
    )
    return Post(
        root=root,
        window=window,
        diameter=_diameter(basis, window, finish),
        finish_below_cej_mm=finish,
        probability=_chance(basis, draws, window),
    )


def _chance(basis: RestorationBasis, draws: RouteDraws, window: PostWindow) -> float | None:
    """Return how often the rules leave a length; None for no post and where a side has no rule that could be assessed."""
    if window.low_mm is None or window.high_mm is None or window.root_mm is None:
        return None
    finish = (draws.cej_mm - draws.line_mm).mean(axis=0)
    crest = (draws.cej_mm - draws.crest_mm).mean(axis=0) + draws.lowered_mm.mean(axis=0)
    crown = None if draws.edge_mm is None else (draws.edge_mm - draws.line_mm).mean(axis=0)
    room = window_room_mm(basis.position, root_mm(draws, window.root_mm), finish_mm=finish, crest_mm=crest, crown_mm=crown)
    return float(np.mean(room >= 0))


def _diameter(basis: RestorationBasis, window: PostWindow, finish_mm: float) -> PostDiameter | None:
    """Return the thickest post at the shortest length allowed, where the root is widest at its tip."""
    if window.status == "no post" or window.root_mm is None:
        return None
    neck = basis.neck
    return post_diameter(
        basis.jaw,
        basis.position,
        tip_depth_mm=None if window.low_mm is None else finish_mm + window.low_mm,
        root_mm=window.root_mm,
        width_at_neck_mm=min(neck.facial_oral_mm, neck.mesiodistal_mm) if neck.read and not basis.molar else None,
    )


def _pins(basis: RestorationBasis, sites: tuple[str, ...], size_mm: float) -> Pins:
    outline, pulp = _oval(_prepared(basis)), pulp_mm(basis.tooth)
    positions = _within(outline, _prepared(basis), np.array([site_angle_deg(site) for site in sites]), size_mm)
    pulp_outline = None if pulp[0] is None or pulp[1] is None else _oval((pulp[0], pulp[1]))
    distances = pin_distances(positions, size_mm, outline, pulp_mm=pulp_outline)
    verdicts = pin_verdicts(distances, "threaded", size_mm)
    return Pins(diameter_mm=size_mm, sites=sites, positions_mm=positions, verdicts=verdicts, state=_worst(verdicts))


def _within(outline: Floats, widths: tuple[float, float], angles: Floats, size_mm: float) -> Floats:
    """Return (n, 2) places on rays from the axis, moved inward until the dentine to the surface is as wide as is asked."""
    asked = value("pin.to_surface_mm")
    out = diameter_mm(widths, angles) / 2 - asked - size_mm / 2
    for _ in range(_ROUNDS):
        lacking = asked - pin_distances(np.maximum(out, 0)[:, None] * _directions(angles), size_mm, outline).surface_mm
        out = out - np.where(lacking > 0, lacking + np.finfo(np.float32).eps, 0)
    return np.asarray(np.maximum(out, 0)[:, None] * _directions(angles))


def pulp_mm(tooth: Tooth) -> tuple[float | None, float | None]:
    """Return the widths of pulp or canal at the finish line, facial-oral and mesiodistal, as recorded. [mm]"""
    widths = tooth.facts.pulp_width_mm or Widths()
    return widths.facial_oral, widths.mesiodistal


def _prepared(basis: RestorationBasis) -> tuple[float, float]:
    """Return the widths that the axial reduction leaves. [mm]"""
    neck = basis.neck
    cut = 2 * basis.wishes.axial_reduction_mm
    return max(neck.facial_oral_mm - cut, cut), max(neck.mesiodistal_mm - cut, cut)


def _oval(widths: tuple[float, float]) -> Floats:
    return np.asarray(diameter_mm(widths, STATIONS_DEG)[:, None] / 2 * _directions(STATIONS_DEG))


def _directions(angles_deg: Floats) -> Floats:
    angle = np.deg2rad(angles_deg)
    return np.column_stack([np.cos(angle), np.sin(angle)])


def _worst(verdicts: tuple[PinVerdict, ...]) -> PinState:
    """The enamel is left out: at the finish line there is none, or the case does not know."""
    found = {state for one in verdicts for state in (one.surface, one.pulp, one.spacing)}
    return "short" if "short" in found else "not assessed" if "not assessed" in found else "enough"
