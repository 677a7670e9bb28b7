"""What is said of a scanned preparation: keys and parameters, no words."""

from collections.abc import Mapping

import numpy as np

from collum.core.crown.form import HALF
from collum.core.crown.guidance import least_height_mm, meets_height_to_width
from collum.core.ring import STATIONS_DEG
from collum.evidence import value
from collum.plan.preparation.judged import Judged, PartId
from collum.plan.sentence import Parameter, Sentence, say
from collum.vocabulary import Verdict

_ORDER: tuple[Verdict, ...] = ("short", "in doubt", "not assessed", "kept")
EVIDENCE: Mapping[PartId, tuple[str, ...]] = {
    "placement": (),
    "resistance": ("plan.short_by_least_mm",),
    "preparation_height": (
        "plan.limit.preparation_height_mm",
        "plan.limit.preparation_height_molar_mm",
        "restoration.height_to_width_least",
    ),
    "convergence": ("restoration.convergence_least_deg", "restoration.convergence_most_deg"),
}


def overall(judged: Judged) -> Verdict:
    """Return the worst verdict of all questions."""
    return next(verdict for verdict in _ORDER if verdict in judged.verdicts.values())


def answer(judged: Judged) -> list[Sentence]:
    """Return the answer in short: the verdict, then what is not kept, then what would make it hold."""
    said = [say(f"preparation.answer.{overall(judged).replace(' ', '_')}")]
    for wanted in _ORDER[:-1]:
        for part, verdict in judged.verdicts.items():
            said += part_said(judged, part)[:1] if verdict == wanted else []
    return [*said, *remedy_said(judged)]


def part_said(judged: Judged, part: PartId) -> list[Sentence]:
    """Return what is said of one question."""
    if part == "placement":
        return _placement(judged)
    if part == "resistance":
        return [_resistance(judged)]
    return _height(judged) if part == "preparation_height" else [_convergence(judged)]


def tooth_told(judged: Judged) -> int | None:
    """Return the tooth of the scan, where it is known which of its sides is which."""
    return None if judged.wanted.facial is None else judged.wanted.tooth


def _at(station: int) -> float:
    return float(STATIONS_DEG[station])


def remedy_said(judged: Judged) -> list[Sentence]:
    """Return what would make half of the weakest wall resist; nothing where it does."""
    found = judged.remedies
    if judged.verdicts["resistance"] == "kept" or found is None or found.met:
        return []
    said = []
    if found.height_mm is not None:
        said.append(say("preparation.remedy.height", more_mm=found.height_mm))
    if found.convergence_deg is not None and found.recut_mm is not None:
        said.append(say("preparation.remedy.convergence", to_deg=found.convergence_deg, recut_mm=found.recut_mm))
    return said or [say("preparation.remedy.none")]


def assumed(judged: Judged) -> list[Sentence]:
    """Return what stood in for what a file does not say."""
    wanted = judged.wanted
    said = [say("preparation.assumed.unit", unit=wanted.unit, extent_mm=float(judged.extent_mm.max()))]
    if wanted.facial is None:
        said.append(say("preparation.assumed.angles"))
    elif wanted.tooth is None:
        said.append(say("preparation.assumed.turn"))
    if wanted.tooth is None:
        said.append(say("preparation.assumed.tooth"))
    said.append(say("preparation.assumed.edge"))
    return [*said, say("preparation.assumed.welded", within_mm=1000 * value("scan.weld_mm"))]


def limits() -> list[Sentence]:
    """Return what the answer does not tell."""
    return [say(f"preparation.limits.{name}") for name in ("shape", "cement", "neighbours", "crossing")]


def _placement(judged: Judged) -> list[Sentence]:
    placement = judged.placement
    how = "found" if placement.found else "given"
    if placement.undercut_mm2 == 0:
        return [say("preparation.placement.free", reserve_deg=placement.reserve_deg), say(f"preparation.placement.{how}")]
    return [
        say("preparation.placement.undercut", area_mm2=placement.undercut_mm2, steepest_deg=placement.undercut_deg),
        say(f"preparation.placement.{how}"),
    ]


def _resistance(judged: Judged) -> Sentence:
    verdict = judged.verdicts["resistance"].replace(" ", "_")
    percent = int(np.floor(100 * judged.share.min()))
    return say(f"preparation.resistance.{verdict}", at_deg=_at(judged.weakest), percent=percent, half=int(100 * HALF))


def _height(judged: Judged) -> list[Sentence]:
    least = float(judged.measured.height_mm[judged.lowest])
    figures: dict[str, Parameter] = {"mean_mm": judged.height_mean_mm, "least_mm": least, "at_deg": _at(judged.lowest)}
    limits_mm: dict[str, Parameter] = {"limit_mm": least_height_mm(False), "molar_mm": least_height_mm(True)}
    if judged.molar is not None:
        limits_mm = {"limit_mm": least_height_mm(judged.molar)}
    which = "_any_tooth" if judged.molar is None else ""
    said = [say(f"preparation.height.{judged.verdicts['preparation_height'].replace(' ', '_')}{which}", **figures, **limits_mm)]
    width = float(judged.measured.width_mm[0])
    if judged.wanted.facial is not None and meets_height_to_width(judged.height_mean_mm, width) is False:
        least_ratio = value("restoration.height_to_width_least")
        said.append(say("preparation.height.broad", ratio=judged.height_mean_mm / width, least=least_ratio))
    return said


def _convergence(judged: Judged) -> Sentence:
    found = judged.measured.convergence_deg
    widest = int(np.nanargmax(found))
    return say(
        f"preparation.convergence.{judged.band}",
        mean_deg=judged.convergence_deg,
        most_deg=float(found[widest]),
        at_deg=_at(widest),
        low_deg=value("restoration.convergence_least_deg"),
        high_deg=value("restoration.convergence_most_deg"),
    )
