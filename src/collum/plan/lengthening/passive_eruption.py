"""Altered passive eruption by its kinds: gum alone or bone with it, and whether the gum is excised or positioned apically.

A crest near the junction leaves no room for the attachment: what is cut over it comes back. Where the mucogingival line is not
apical of the crest, excision would take the keratinised tissue that has to stay.
"""

from dataclasses import dataclass

from collum.case.model import Tooth
from collum.evidence.handed import PlanLimits
from collum.plan.lengthening.levels.inputs import mean_reading_mm

_FACIAL = ("F", "MF", "DF")


@dataclass(frozen=True, slots=True, kw_only=True)
class PassiveEruption:
    """The kind, by the facial site where the crest is nearest to the junction.

    `with_bone`: the crest has to be lowered whatever gum is cut. `excised`: the gum may be, else it is positioned apically;
    None where the keratinised width was not read.
    """

    site: str
    crest_below_cej_mm: float
    with_bone: bool
    excised: bool | None


def is_passive_eruption(tooth: Tooth) -> bool:
    """Return whether the gum never drew back when the tooth came through."""
    return tooth.overgrowth is not None and tooth.overgrowth.cause == "altered passive eruption"


def passive_eruption(tooth: Tooth, limits: PlanLimits) -> PassiveEruption | None:
    """Return the kind of altered passive eruption; None without one, or where junction and bone were read at no facial site."""
    if not is_passive_eruption(tooth):
        return None
    below_mm: dict[str, float] = {}
    apical: list[bool] = []
    for site in _FACIAL:
        sounding_mm, cej_mm, keratinised_mm = (
            mean_reading_mm(tooth, kind, site) for kind in ("bone_sounding", "cej_height", "keratinised_width")
        )
        if sounding_mm is None:
            continue
        if cej_mm is not None:
            below_mm[site] = sounding_mm + cej_mm
        if keratinised_mm is not None:
            apical.append(keratinised_mm > sounding_mm)
    if not below_mm:
        return None
    nearest = min(below_mm, key=lambda site: below_mm[site])
    return PassiveEruption(
        site=nearest,
        crest_below_cej_mm=below_mm[nearest],
        with_bone=below_mm[nearest] < limits.passive_eruption_crest_mm,
        excised=all(apical) if apical else None,
    )
