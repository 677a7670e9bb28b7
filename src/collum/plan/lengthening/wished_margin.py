"""The margin that is wished where the smile shows it: as at the mirror tooth, or as the dentist drew it at sites.

The mirror tooth counts only if it is healthy and its root covered. The wish is never apical of the junction of this tooth: no
root is bared for the look. A difference that is not seen is left alone, and so is what the lips cover.
"""

from collections.abc import Mapping

from collum.case.model import Tooth, site_angle_deg
from collum.plan.lengthening.levels.inputs import mean_reading_mm
from collum.plan.lengthening.requirements.situation import nearest_station
from collum.plan.lengthening.wishes import WishedMargin
from collum.vocabulary import SmileLine

_FACIAL = "F"  # the site at which the mirror tooth is compared


def wished_margin(tooth: Tooth, smile_line: SmileLine | None, limit_mm: float, *, cut_for_looks: bool) -> WishedMargin | None:
    """Return the wished margin of a tooth; None where nothing shows or nothing is wished.

    `limit_mm`: a difference as large is seen. `cut_for_looks`: False where nothing is cut for looks alone.
    """
    if tooth.restoration.visible_zone is not True or smile_line == "low":
        return None
    drawn = tooth.facts.wished_margin_mm
    if drawn:
        return _over_cej(tooth, drawn, limit_mm, drawn=True, cut_for_looks=cut_for_looks)
    if tooth.facts.mirror_margin_mm is None:
        return None
    healthy, above_cej_mm = tooth.facts.mirror_healthy, tooth.facts.mirror_above_cej_mm
    if healthy is False:
        return WishedMargin(limit_mm=limit_mm, above_margin_mm={}, uncounted="mirror_not_healthy")
    if above_cej_mm is not None and above_cej_mm < 0:
        return WishedMargin(limit_mm=limit_mm, above_margin_mm={}, uncounted="mirror_recessed")
    if healthy is None or above_cej_mm is None:
        return WishedMargin(limit_mm=limit_mm, above_margin_mm={}, unknown="mirror_state")
    mirror = {_FACIAL: tooth.facts.mirror_margin_mm}
    return _over_cej(tooth, mirror, limit_mm, drawn=False, cut_for_looks=cut_for_looks)


def _over_cej(
    tooth: Tooth, wished_mm: Mapping[str, float], limit_mm: float, *, drawn: bool, cut_for_looks: bool
) -> WishedMargin:
    """Return a wish by site as one that bares no root; where the junction was not read no wish under the margin counts."""
    above_margin_mm: dict[int, float] = {}
    at_cej = False
    for site, wished in wished_mm.items():
        cej_mm = mean_reading_mm(tooth, "cej_height", site)
        if cej_mm is None and wished < 0:
            return WishedMargin(limit_mm=limit_mm, above_margin_mm={}, drawn=drawn, unknown="wished_cej")
        height_mm = wished if cej_mm is None else max(wished, cej_mm)
        at_cej = at_cej or height_mm > wished
        above_margin_mm[nearest_station(site_angle_deg(site))] = height_mm
    return WishedMargin(
        limit_mm=limit_mm, above_margin_mm=above_margin_mm, drawn=drawn, at_cej=at_cej, cut_for_looks=cut_for_looks
    )
