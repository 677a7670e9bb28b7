"""How much ferrule is worth its bone: the optimum against the crown-to-root ratio.

The published groups grew ferrule and ratio together. Read apart: what was gained up to the best group is put down to the
ferrule, what was lost beyond it to the ratio, and a tooth is as strong as the weaker of the two allows,

    strength(f, k) = min(gain(f), loss(k)),

straight between the groups. On the groups themselves this is the published table. The reading is ours; the table is of one
laboratory study of lower first premolars, so of other teeth it says where to stop rather than how strong the tooth is.

Extrusion lengthens no crown and wins the same ferrule at a lower ratio, which this shows and does not hide.
Not covered: tissue cut without bone, which changes the ferrule only as far as it lasts and the ratio not at all.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from collum.core.support.support import crown_to_root
from collum.evidence import value

Floats = NDArray[np.float64]
PostKind = Literal["fibre", "cast"]
Route = Literal["bone", "extrusion"]

_GROUPS_MM = range(5)
_STEPS = 401  # a hundredth of a millimetre over the tested 4 mm
_EQUAL_DIGITS = 6  # strengths closer than a thousandth of a newton are equal, and so are ratios closer than a millionth


@dataclass(frozen=True, slots=True, kw_only=True)
class Optimum:
    """The gain at which strength is greatest: how much to win, ferrule and ratio then, strength then and now.

    `strength_now_kn` is None where nothing was tested. `bounded`: a smaller ratio would allow more strength than the tooth can
    have.
    """

    gain_mm: float
    ferrule_mm: float
    crown_to_root: float
    strength_kn: float
    strength_now_kn: float | None
    bounded: bool


def fracture_strength_kn(ferrule_mm: ArrayLike, ratio: ArrayLike, post: PostKind) -> Floats:
    """Return the force at fracture by the published table.

    An edge below the finish line is no ferrule. Below the least tested ratio the nearest group holds; nothing was tested
    above the greatest.

    Parameters
    ----------
    ferrule_mm : array_like
        Height of the ferrule [mm].
    ratio : array_like
        Crown to root [1].
    post : {'fibre', 'cast'}

    Returns
    -------
    ndarray, broadcast shape
        Force [kN]; nan where either is unknown or the ratio is above the greatest tested.

    Source
    ------
    [ferrule_lengthening2023], read apart as the head of this module says.

    Examples
    --------
    >>> bool(fracture_strength_kn(2.0, 1.0, 'fibre') > fracture_strength_kn(0.0, 1.0, 'fibre'))
    True
    """
    ferrule, crown_root = np.asarray(ferrule_mm, dtype=float), np.asarray(ratio, dtype=float)
    strengths = np.array([value(f"ferrule.trade_off.{mm}mm.{post}_post_kn") for mm in _GROUPS_MM])
    ratios = np.array([value(f"ferrule.trade_off.{mm}mm.crown_to_root") for mm in _GROUPS_MM])
    best = int(np.argmax(strengths))
    gain = np.interp(ferrule, np.array(_GROUPS_MM[: best + 1], dtype=float), strengths[: best + 1])
    loss = np.interp(crown_root, ratios[best:], strengths[best:])
    return np.asarray(np.where(np.round(crown_root, _EQUAL_DIGITS) <= ratios[-1], np.minimum(gain, loss), np.nan))


def best_gain(
    ferrule_mm: float, crown_mm: float, root_mm: float, crest_below_cej_mm: float, *, post: PostKind, route: Route
) -> Optimum | None:
    """Return the gain of ferrule, 0 to 4 mm, at which the tooth is strongest; the least such gain where several tie.

    Parameters
    ----------
    ferrule_mm, crown_mm, root_mm, crest_below_cej_mm : float
        Ferrule now, crown and root from the junction, crest below the junction [mm].
    post : {'fibre', 'cast'}
    route : {'bone', 'extrusion'}
        How the ferrule is gained.

    Returns
    -------
    Optimum or None
        None where something is unknown, or where the tooth is outside what was tested at every gain.

    Source
    ------
    [ferrule_lengthening2023] with `collum.core.support.support.crown_to_root`.

    Examples
    --------
    >>> best = best_gain(0.5, 8.0, 14.0, 1.0, post='fibre', route='extrusion')
    >>> best is not None and best.gain_mm >= 0
    True
    """
    gains = np.linspace(0, _GROUPS_MM[-1], _STEPS)
    cost = {"bone_removed_mm": gains} if route == "bone" else {"extruded_mm": gains}
    ratios = crown_to_root(crown_mm, root_mm, crest_below_cej_mm, **cost)
    strengths = fracture_strength_kn(ferrule_mm + gains, ratios, post)
    if np.isnan(strengths).all():
        return None
    best = int(np.nanargmax(np.round(strengths, _EQUAL_DIGITS)))
    now = float(strengths[0])
    return Optimum(
        gain_mm=float(gains[best]),
        ferrule_mm=float(ferrule_mm + gains[best]),
        crown_to_root=float(ratios[best]),
        strength_kn=float(strengths[best]),
        strength_now_kn=None if np.isnan(now) else now,
        bounded=bool(round(float(strengths[best]), _EQUAL_DIGITS) < fracture_strength_kn(_GROUPS_MM[-1], 0, post)),
    )
