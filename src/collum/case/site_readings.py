"""The readings at the sites of a tooth: from checked tables to typed readings, with the checks that join several of them."""

from collections.abc import Mapping, Sequence

from collum.case.decimal_comma import may_be_commas
from collum.case.faults import Finder, said
from collum.case.layout_parts import NOT_MEASURABLE
from collum.case.model import Reading, site_angle_deg
from collum.case.reading_kinds import NOT_APPLICABLE, READING_KINDS, READING_ROWS, ReadingKind
from collum.case.shapes import Json
from collum.core.ring import ORAL_DEG, QUARTER_DEG
from collum.core.tooth import is_upper
from collum.evidence import value

Readings = Mapping[ReadingKind, Mapping[str, tuple[Reading, ...]]]


def readings_of(sites: Json, order: Sequence[str], where: str, finder: Finder) -> Readings:
    """Return the readings by kind and site, each with its step: its own, else the one stated for its kind, else its row's."""
    readings: dict[ReadingKind, dict[str, tuple[Reading, ...]]] = {}
    steps_mm = steps_of(sites.get("step"))
    for row in READING_ROWS:
        kind = row.id
        given = sites.get(kind)
        path = f"{where}.sites.{kind}"
        if given is None:
            continue
        if isinstance(given, list) and len(given) != len(order):
            allowed = "allowed.length_or_point" if may_be_commas(given, len(order)) else "allowed.length"
            finder.add(path, said("what.wrong_length"), said(allowed, count=len(order)), len(given))
            continue
        named = dict(zip(order, given, strict=True)) if isinstance(given, list) else given
        for site in named:
            if site not in order:
                finder.add(f"{path}.{site}", said("what.site_not_in_order"), said("allowed.in_order"), site)
        readings[kind] = {
            site: _entry(entry, steps_mm.get(kind, row.step_mm), _path(sites, kind, site, order, where), finder)
            for site, entry in named.items()
            if entry is not None
        }
    return readings


def _path(sites: Json, kind: str, site: str, order: Sequence[str], where: str) -> str:
    """Return the path of the entry at a site, by position or by name as the file spells it."""
    at = f"[{order.index(site)}]" if isinstance(sites[kind], list) else f".{site}"
    return f"{where}.sites.{kind}{at}"


def _entry(entry: Json, step_mm: float, path: str, finder: Finder) -> tuple[Reading, ...]:
    if not isinstance(entry, list):
        return (_single(entry, step_mm, path, finder),)
    return tuple(_single(part, step_mm, f"{path}[{i}]", finder) for i, part in enumerate(entry) if part is not None)


def _single(part: Json, step_mm: float, place: str, finder: Finder) -> Reading:
    if part in (NOT_MEASURABLE, NOT_APPLICABLE):
        return Reading(value_mm=None, step_mm=step_mm, outcome=part)
    if not isinstance(part, dict):
        _check_step(part, step_mm, place, finder)
        return Reading(value_mm=part, step_mm=step_mm)
    if ("value" in part) == ("beyond" in part):
        finder.add(place, said("what.value_or_beyond"), said("allowed.value_or_beyond"))
        return Reading(value_mm=None, step_mm=step_mm, outcome="not measurable")
    own_step = part.get("step") or step_mm
    number = part.get("value", part.get("beyond"))
    if number is not None:
        _check_step(number, own_step, place, finder)
    if "beyond" in part and number is not None and number <= 0:
        finder.add(place, said("what.beyond_not_positive"), said("allowed.beyond"), number)
    return Reading(
        value_mm=number,
        step_mm=own_step,
        outcome="beyond" if "beyond" in part else "measured",
        error_mm=part.get("error"),
        condition=part.get("state"),
        landmark=part.get("landmark"),
        date=part.get("date"),
        examiner=part.get("examiner"),
    )


def _check_step(number: float, step_mm: float, place: str, finder: Finder) -> None:
    steps = number / step_mm
    if abs(steps - round(steps)) > value("case.step_tolerance"):
        finder.add(place, said("what.off_the_step"), said("allowed.step", step_mm=step_mm), number)


def steps_of(step: Json) -> dict[ReadingKind, float]:
    """Return the step stated for each kind of reading: of all of them where one number is given."""
    if step is None or isinstance(step, dict):
        return dict(step or {})
    return dict.fromkeys(READING_KINDS, float(step))


def check_soundings(sites: Json, readings: Readings, order: Sequence[str], where: str, finder: Finder) -> None:
    """A crest cannot lie coronal of the sulcus: refused where every sounding is shorter than every probing by more than a
    step.
    """
    for site in order:
        depths = _exact(readings.get("probing_depth", {}).get(site, ()))
        soundings = _exact(readings.get("bone_sounding", {}).get(site, ()))
        if not depths or not soundings:
            continue
        step = max(r.step_mm for r in (*depths, *soundings))
        longest = max(r.value_mm or 0 for r in soundings)
        shortest = min(r.value_mm or 0 for r in depths)
        if longest < shortest - step:
            path = _path(sites, "bone_sounding", site, order, where)
            finder.add(path, said("what.sounding_under_probing"), said("allowed.at_least", least=shortest), longest)


def check_palate(number: int, sites: Json, readings: Readings, where: str, finder: Finder) -> None:
    """A reading "does not apply" on the palate alone."""
    of_palate = [(row.id, site, kept) for row in READING_ROWS for site, kept in readings.get(row.id, {}).items()]
    for kind, site, kept in of_palate:
        oral = abs(site_angle_deg(site) - ORAL_DEG) < QUARTER_DEG
        if any(r.outcome == NOT_APPLICABLE for r in kept) and not (is_upper(number) and oral):
            path = _path(sites, kind, site, sites["order"], where)
            finder.add(path, said("what.no_palate"), said("allowed.palate_only"), NOT_APPLICABLE)


def _exact(readings: tuple[Reading, ...]) -> tuple[Reading, ...]:
    return tuple(r for r in readings if r.outcome == "measured" and r.value_mm is not None)
