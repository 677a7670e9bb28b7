"""Where a root divides: the entrances of the furcation round the neck and their handbook distance from the junction.

Lower molars divide facially and orally, upper molars mesially, facially and distally, upper first premolars mesially and
distally (where they have two roots). Third molars take the figures of the second. Sources stand with the constants.
"""

from collum.core.ring import ORAL_DEG
from collum.core.tooth.numbering import arch
from collum.evidence import value

_MESIAL_DEG, _DISTAL_DEG = 90, 270
_UPPER_MOLARS = (6, 7, 8)
_SECOND_MOLAR = 7


def furcation_trunks_mm(number: int) -> dict[int, float]:
    """Return for each entrance its angle (deg) and the handbook length of the root trunk there; empty for one root. [mm]

    Raises ToothNumberError.
    """
    position = number % 10
    if arch(number) == "upper":
        if position in _UPPER_MOLARS:
            longer = value("tooth.upper7.trunk_extra_mm") if position >= _SECOND_MOLAR else 0
            sides = {_MESIAL_DEG: "mesial", 0: "facial", _DISTAL_DEG: "distal"}
            return {angle: value(f"tooth.upper6.trunk_{side}_mm") + longer for angle, side in sides.items()}
        first_premolar = position == 2 * 2
        return dict.fromkeys((_MESIAL_DEG, _DISTAL_DEG), value("tooth.upper4.trunk_mm")) if first_premolar else {}
    if position >= _SECOND_MOLAR:
        return dict.fromkeys((0, ORAL_DEG), value("tooth.lower7.trunk_mm"))
    if position in _UPPER_MOLARS:
        return {0: value("tooth.lower6.trunk_facial_mm"), ORAL_DEG: value("tooth.lower6.trunk_oral_mm")}
    return {}
