"""Readings that are possible but unlikely: what to read again before anything rests on them."""

from collections.abc import Iterator

from collum.case.model import Tooth, site_angle_deg
from collum.case.reading_kinds import READING_ROWS, ReadingKind
from collum.evidence import get
from collum.evidence.handed import PlanLimits
from collum.plan.lengthening.grounds import Question
from collum.plan.lengthening.levels.inputs import mean_reading_mm
from collum.plan.sentence import say

_ATTACHMENT: tuple[ReadingKind, ReadingKind] = ("probing_depth", "bone_sounding")


def plausibility_questions(tooth: Tooth, limits: PlanLimits) -> tuple[Question, ...]:
    """Return what to read again: out of the usual range, too little or too much attachment, a jump between neighbours."""
    return (*_unusual(tooth), *_attachment(tooth, limits), *_jumps(tooth, limits))


def _unusual(tooth: Tooth) -> Iterator[Question]:
    """Heights are no sign of a slip: how far an edge is from the margin says what is to be done."""
    for row in READING_ROWS:
        if row.measures == "height":
            continue
        kind, usual = row.id, get(row.usual_key)
        for site in tooth.sites:
            mm = mean_reading_mm(tooth, kind, site)
            if mm is not None and not usual.low <= mm <= usual.high:
                said = say(f"plan.question.unusual.{kind}", site=site, value_mm=mm, low_mm=usual.low, high_mm=usual.high)
                yield Question(id=kind, said=said, site=site, reading=kind)


def _attachment(tooth: Tooth, limits: PlanLimits) -> Iterator[Question]:
    for site in tooth.sites:
        depth, sounding = (mean_reading_mm(tooth, kind, site) for kind in _ATTACHMENT)
        if depth is None or sounding is None:
            continue
        between = sounding - depth
        name = None
        if between < limits.usual_attachment_low_mm:
            name = "little_attachment"
        elif between > limits.usual_attachment_high_mm:
            name = "much_attachment"
        if name is not None:
            said = say(f"plan.question.{name}", site=site, between_mm=between)
            yield Question(id=name, said=said, site=site, reading="bone_sounding")


def _jumps(tooth: Tooth, limits: PlanLimits) -> Iterator[Question]:
    ordered = sorted(tooth.sites, key=site_angle_deg)
    for kind in [row.id for row in READING_ROWS if row.measures == "depth"]:
        for first, second in zip(ordered, [*ordered[1:], *ordered[:1]], strict=True):
            depths = [mean_reading_mm(tooth, kind, site) for site in (first, second)]
            if None in depths or first == second:
                continue
            jump = abs((depths[0] or 0) - (depths[1] or 0))
            if jump > limits.usual_jump_mm:
                said = say(f"plan.question.jump.{kind}", first=first, second=second, jump_mm=jump)
                yield Question(id=kind, said=said, site=first, reading=kind)
