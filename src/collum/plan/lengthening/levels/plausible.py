"""Readings that are possible but unlikely: what to read again before anything rests on them."""

from collections.abc import Iterator

from collum.case.model import Tooth, site_angle_deg
from collum.evidence import get, value
from collum.plan.lengthening.levels.inputs import mean_reading_mm
from collum.plan.sentence import Sentence, say
from collum.vocabulary import ReadingKind

_DEPTHS: tuple[ReadingKind, ...] = ("probing_depth", "bone_sounding")
_SINGLE: tuple[ReadingKind, ...] = ("probing_depth", "bone_sounding", "keratinised_width", "tissue_thickness", "wall_thickness")


def plausibility_questions(tooth: Tooth) -> tuple[Sentence, ...]:
    """Return what to read again: out of the usual range, too little or too much attachment, a jump between neighbours."""
    return (*_unusual(tooth), *_attachment(tooth), *_jumps(tooth))


def _unusual(tooth: Tooth) -> Iterator[Sentence]:
    for kind in _SINGLE:
        usual = get(f"case.soft.{kind}_mm")
        for site in tooth.sites:
            mm = mean_reading_mm(tooth, kind, site)
            if mm is not None and not usual.low <= mm <= usual.high:
                yield say(f"plan.question.unusual.{kind}", site=site, value_mm=mm, low_mm=usual.low, high_mm=usual.high)


def _attachment(tooth: Tooth) -> Iterator[Sentence]:
    for site in tooth.sites:
        depth, sounding = (mean_reading_mm(tooth, kind, site) for kind in _DEPTHS)
        if depth is None or sounding is None:
            continue
        between = sounding - depth
        if between < value("plan.usual.attachment_low_mm"):
            yield say("plan.question.little_attachment", site=site, between_mm=between)
        elif between > value("plan.usual.attachment_high_mm"):
            yield say("plan.question.much_attachment", site=site, between_mm=between)


def _jumps(tooth: Tooth) -> Iterator[Sentence]:
    ordered = sorted(tooth.sites, key=site_angle_deg)
    for kind in _DEPTHS:
        for first, second in zip(ordered, [*ordered[1:], *ordered[:1]], strict=True):
            depths = [mean_reading_mm(tooth, kind, site) for site in (first, second)]
            if None in depths or first == second:
                continue
            jump = abs((depths[0] or 0) - (depths[1] or 0))
            if jump > value("plan.usual.jump_mm"):
                yield say(f"plan.question.jump.{kind}", first=first, second=second, jump_mm=jump)
