"""The post window of a root: the lengths that every rule allows; where none is left, which two collide and what opens it.

Lengths count from the finish line to the tip of the post. Levels count apically from the cemento-enamel junction along the
root: f the finish line, g the crest as it will be after bone work or extrusion, R the apex. Each rule is a bound:

    most   R - f - seal               root filling left at the apex
    most   cap                        molars
    least  crown height               above the finish line
    least  (g - f) + (R - g) / 2      half of the root in bone
    least  2/3 R                      common practice; not asked of molars, where their cap lies below it

Each is a straight line in what a dentist can change, so that the least change that opens an empty window is exact.
A post replaces no ferrule. Not covered: curved, fused and perforated roots; the age of the root filling and who may redo it.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from collum.core.support.support import root_length_mm
from collum.evidence import value
from collum.vocabulary import Jaw

Floats = NDArray[np.float64]
RootPlace = Literal["single", "facial", "oral", "mesial", "distal"]
RuleName = Literal["apical_seal", "molar_most", "crown_height", "half_of_root_in_bone", "two_thirds_of_root"]
Change = Literal["shorter_seal", "finish_line_coronal", "less_bone_removed", "lower_crown", "without_two_thirds"]
Status = Literal["open", "empty", "no post", "not assessed"]
Reason = Literal["vital", "root_not_allowed", "root_filling_too_short"]

_FIRST_MOLAR = 6
_MOST: tuple[RuleName, ...] = ("apical_seal", "molar_most")  # the other rules are bounds from below
_EVIDENCE: Mapping[RuleName, str] = {
    "apical_seal": "post.apical_seal_mm",
    "molar_most": "post.molar_most_mm",
    "crown_height": "post.crown_height_share",
    "half_of_root_in_bone": "post.bone_supported_share",
    "two_thirds_of_root": "post.root_share",
}
_POSITIONS = range(1, 9)


@dataclass(frozen=True, slots=True, kw_only=True)
class PostSite:
    """One root and its surroundings; None is not known. Levels are apical of the cemento-enamel junction. [mm]

    `position` counts from the midline, 1 to 8. `crown_mm` reaches from the finish line to the planned edge. `crest_mm` is the
    crest today, `bone_removed_mm` and `extruded_mm` are planned. `finish_line_mm` is the planned one, after extrusion.
    `sound_filling_mm` is the length of sound root filling from the apex.
    """

    jaw: Jaw
    position: int
    root: RootPlace
    vital: bool | None = None
    root_mm: float | None = None
    finish_line_mm: float | None = None
    crown_mm: float | None = None
    crest_mm: float | None = None
    bone_removed_mm: float = 0
    extruded_mm: float = 0
    sound_filling_mm: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """One bound on the length; `length_mm` None: not assessed, because something it needs is not known."""

    name: RuleName
    at_least: bool
    length_mm: float | None
    evidence: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Clash:
    """The two rules that leave no length, and by how much they miss each other. [mm]"""

    least: RuleName
    most: RuleName
    gap_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Opener:
    """The least of one change that opens the window, and the window then. Leaving a rule out has no amount. [mm]"""

    change: Change
    amount_mm: float | None
    low_mm: float
    high_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PostWindow:
    """The window of a root. `low_mm` and `high_mm` come from the rules that could be assessed, None where none of a side was.

    `open` only where every rule was assessed. `root_from_handbook`: the root's length is an average, not this tooth's.
    """

    status: Status
    reason: Reason | None = None
    low_mm: float | None = None
    high_mm: float | None = None
    rules: tuple[Rule, ...] = ()
    clash: Clash | None = None
    openers: tuple[Opener, ...] = ()
    root_mm: float | None = None
    root_from_handbook: bool = False


def post_window(site: PostSite) -> PostWindow:
    """Return the window of a root. Raises ValueError for a position or a root that no permanent tooth has."""
    _check(site)
    root_mm, from_handbook = root_length_mm(site.jaw, site.position, site.root_mm, facial=site.root == "facial")
    reason = _refused(site)
    if reason is not None:
        return PostWindow(status="no post", reason=reason, root_mm=root_mm, root_from_handbook=from_handbook)
    rules = _rules(site, root_mm)
    low, high = _bounds(rules)
    clash = _clash(rules)
    return PostWindow(
        status=_status(site, rules, clash),
        low_mm=low,
        high_mm=high,
        rules=rules,
        clash=clash,
        openers=_openers(site, rules) if clash is not None else (),
        root_mm=root_mm,
        root_from_handbook=from_handbook,
    )


def window_room_mm(
    position: int, root_mm: ArrayLike, *, finish_mm: ArrayLike, crest_mm: ArrayLike, crown_mm: ArrayLike | None
) -> Floats:
    """Return how much longer the longest post that the rules allow is than the shortest; negative where they leave no length.

    Parameters
    ----------
    position : int
        Place in the arch, 1 to 8 from the midline.
    root_mm : array_like
        Length of the root [mm].
    finish_mm, crest_mm : array_like
        Finish line and crest, once bone is taken or the tooth is moved, apical of the cemento-enamel junction [mm].
    crown_mm : array_like or None
        From the finish line to the planned edge [mm]; None: not known, its rule is left out.

    Returns
    -------
    ndarray, broadcast shape
        Length [mm].

    Source
    ------
    The rules of `post_window`.

    Examples
    --------
    >>> round(float(window_room_mm(4, 14.0, finish_mm=-1.0, crest_mm=1.5, crown_mm=6.0)), 2)
    0.67
    """
    lengths = _lengths_mm(position, root_mm, finish_mm, crest_mm, np.nan if crown_mm is None else crown_mm)
    least = [mm for name, mm in lengths.items() if name not in _MOST and not np.isnan(mm).any()]
    most = [mm for name, mm in lengths.items() if name in _MOST]
    return np.asarray(np.min(np.broadcast_arrays(*most), axis=0) - np.max(np.broadcast_arrays(*least), axis=0))


def allowed_root(jaw: Jaw, position: int, root: RootPlace) -> bool:
    """Return whether a post may stand in this root: in molars only the palatal one above and the distal one below.

    Source: [baba2013].
    """
    if position < _FIRST_MOLAR:
        return True
    return root == ("oral" if jaw == "upper" else "distal")


def _check(site: PostSite) -> None:
    if site.position not in _POSITIONS:
        raise ValueError(f"{site.jaw} tooth {site.position}: positions count 1 to 8 from the midline")
    for name in ("bone_removed_mm", "extruded_mm"):
        if getattr(site, name) < 0:
            raise ValueError(f"{name} {getattr(site, name)}: cannot be negative")


def _refused(site: PostSite) -> Reason | None:
    if site.vital:
        return "vital"
    if not allowed_root(site.jaw, site.position, site.root):
        return "root_not_allowed"
    if site.sound_filling_mm is not None and site.sound_filling_mm < value("post.apical_seal_least_mm"):
        return "root_filling_too_short"
    return None


def _rules(site: PostSite, root_mm: float) -> tuple[Rule, ...]:
    finish, crown = _or_nan(site.finish_line_mm), _or_nan(site.crown_mm)
    crest = _or_nan(site.crest_mm) + site.bone_removed_mm + site.extruded_mm
    lengths = _lengths_mm(site.position, root_mm, finish, crest, crown)
    return tuple(
        Rule(
            name=name,
            at_least=name not in _MOST,
            length_mm=None if np.isnan(length) else float(length),
            evidence=_EVIDENCE[name],
        )
        for name, length in lengths.items()
    )


def _lengths_mm(
    position: int, root_mm: ArrayLike, finish_mm: ArrayLike, crest_mm: ArrayLike, crown_mm: ArrayLike
) -> dict[RuleName, Floats]:
    """Return the bound of every rule on the length; nan where something it needs is not known. `crest_mm` as it will be."""
    root, finish, crest, crown = (np.asarray(mm, dtype=float) for mm in (root_mm, finish_mm, crest_mm, crown_mm))
    in_bone = value("post.bone_supported_share") * (root - crest)
    lengths: dict[RuleName, Floats] = {
        "apical_seal": np.asarray(root - finish - value("post.apical_seal_mm")),
        "crown_height": np.asarray(value("post.crown_height_share") * crown),
        "half_of_root_in_bone": np.asarray(crest - finish + in_bone),
    }
    if position >= _FIRST_MOLAR:
        return {**lengths, "molar_most": np.asarray(value("post.molar_most_mm"))}
    return {**lengths, "two_thirds_of_root": np.asarray(value("post.root_share") * root)}


def _bounds(rules: tuple[Rule, ...]) -> tuple[float | None, float | None]:
    least = [rule.length_mm for rule in rules if rule.at_least and rule.length_mm is not None]
    most = [rule.length_mm for rule in rules if not rule.at_least and rule.length_mm is not None]
    return max(least, default=None), min(most, default=None)


def _clash(rules: tuple[Rule, ...]) -> Clash | None:
    """Return the longest least against the shortest most, where they leave nothing."""
    known = [(rule, rule.length_mm) for rule in rules if rule.length_mm is not None]
    least = max((pair for pair in known if pair[0].at_least), key=lambda pair: pair[1], default=None)
    most = min((pair for pair in known if not pair[0].at_least), key=lambda pair: pair[1], default=None)
    if least is None or most is None or least[1] <= most[1]:
        return None
    return Clash(least=least[0].name, most=most[0].name, gap_mm=least[1] - most[1])


def _status(site: PostSite, rules: tuple[Rule, ...], clash: Clash | None) -> Status:
    if clash is not None:
        return "empty"
    known = site.vital is not None and site.sound_filling_mm is not None and all(rule.length_mm is not None for rule in rules)
    return "open" if known else "not assessed"


def _slopes() -> Mapping[Change, Mapping[RuleName, float]]:
    """Return by how much each bound moves for each millimetre of a change."""
    return {
        "shorter_seal": {"apical_seal": 1},
        "finish_line_coronal": {"apical_seal": 1, "crown_height": -1, "half_of_root_in_bone": 1},
        "less_bone_removed": {"half_of_root_in_bone": value("post.bone_supported_share") - 1},
        "lower_crown": {"crown_height": -1},
    }


def _openers(site: PostSite, rules: tuple[Rule, ...]) -> tuple[Opener, ...]:
    most_mm: Mapping[Change, float] = {
        "shorter_seal": value("post.apical_seal_mm") - value("post.apical_seal_least_mm"),
        "finish_line_coronal": np.inf,
        "less_bone_removed": site.bone_removed_mm,
        "lower_crown": np.inf if site.crown_mm is None else site.crown_mm,
    }
    openers = [_opener(change, slopes, rules, most_mm[change]) for change, slopes in _slopes().items()]
    without = tuple(rule for rule in rules if rule.name != "two_thirds_of_root")
    low, high = _bounds(without)
    if low is not None and high is not None and low <= high:
        openers.append(Opener(change="without_two_thirds", amount_mm=None, low_mm=low, high_mm=high))
    return tuple(opener for opener in openers if opener is not None)


def _opener(change: Change, slopes: Mapping[RuleName, float], rules: tuple[Rule, ...], most_mm: float) -> Opener | None:
    """Return the least amount at which every least bound lies at or under every most bound, None where there is none."""
    from_mm, to_mm = 0.0, most_mm
    known = [(rule, rule.length_mm, slopes.get(rule.name, 0)) for rule in rules if rule.length_mm is not None]
    for _, least_mm, least_slope in (entry for entry in known if entry[0].at_least):
        for _, top_mm, top_slope in (entry for entry in known if not entry[0].at_least):
            gap, closing = least_mm - top_mm, top_slope - least_slope
            if closing > 0:
                from_mm = max(from_mm, gap / closing)
            elif closing < 0:
                to_mm = min(to_mm, gap / closing)
            elif gap > 0:
                return None
    if from_mm > to_mm:
        return None
    moved = tuple(replace(rule, length_mm=length + slope * from_mm) for rule, length, slope in known)
    low, high = _bounds(moved)
    assert low is not None and high is not None
    return Opener(change=change, amount_mm=from_mm, low_mm=low, high_mm=max(low, high))


def _or_nan(length_mm: float | None) -> float:
    return np.nan if length_mm is None else length_mm
