"""From a document whose shapes were checked to the typed case, with the checks that need more than one value."""

from collections.abc import Mapping, Sequence

from collum.case.bridge_wishes import check_beds
from collum.case.decimal_comma import may_be_commas
from collum.case.faults import Finder, said
from collum.case.layout import NOT_APPLICABLE, READING_KINDS, RECORDED_PATIENT, RECORDED_TOOTH
from collum.case.layout_parts import NOT_MEASURABLE
from collum.case.model import (
    Case,
    FinishWish,
    Held,
    MirrorReading,
    Overgrowth,
    Patient,
    Reading,
    RequirementWish,
    Restoration,
    Root,
    Tooth,
    site_angle_deg,
)
from collum.case.shapes import Json
from collum.case.tooth_number import tooth_number
from collum.core.ring import ORAL_DEG, QUARTER_DEG
from collum.core.tooth import is_upper
from collum.evidence import get, value


def case_of(checked: Json, finder: Finder) -> Case | None:
    """Return the typed case, or None where there is any fault. `checked` is what the shapes kept, None where one refused."""
    teeth = [_tooth(tooth, f"teeth[{i}]", finder) for i, tooth in enumerate(checked.get("teeth") or []) if tooth is not None]
    _check_numbers(checked.get("teeth") or [], finder)
    _check_bridges(checked.get("bridges") or [], finder)
    _check_visits(checked.get("visits") or [], finder)
    if finder.faults:
        return None
    patient = checked["patient"]
    return Case(
        patient=Patient(
            reference=patient["reference"],
            phenotype=patient.get("phenotype", "unknown"),
            recorded={k: patient[k] for k in RECORDED_PATIENT if k in patient},
        ),
        teeth=tuple(t for t in teeth if t is not None),
        invented=checked.get("invented", False),
        bridges=tuple(checked.get("bridges", ())),
        visits=tuple(checked.get("visits", ())),
        note=checked.get("note"),
        expected=checked.get("expected"),
    )


def _check_numbers(teeth: Sequence[Json], finder: Finder) -> None:
    numbers = [None if tooth is None else tooth_number(tooth, "", Finder()) for tooth in teeth]
    for i, number in enumerate(numbers):
        if number is not None and number in numbers[:i]:
            finder.add(f"teeth[{i}].number", said("what.tooth_twice"), said("allowed.once"), number)


def _check_bridges(bridges: Sequence[Json], finder: Finder) -> None:
    """A bridge names each tooth once, stands on at least one that is no pontic, and has its beds under pontics."""
    for i, bridge in enumerate(bridges):
        teeth, pontics = ((bridge or {}).get(key) or [] for key in ("teeth", "pontics"))
        for key, numbers in (("teeth", teeth), ("pontics", pontics)):
            for j, number in enumerate(numbers):
                if number is not None and number in numbers[:j]:
                    finder.add(f"bridges[{i}].{key}[{j}]", said("what.tooth_twice"), said("allowed.once"), number)
        if teeth and set(teeth) <= set(pontics):
            finder.add(f"bridges[{i}].pontics", said("what.no_abutment"), said("allowed.abutment"))
        check_beds((bridge or {}).get("beds") or [], pontics, f"bridges[{i}].beds", finder)


def _check_visits(visits: Sequence[Json], finder: Finder) -> None:
    """A visit answers for each tooth once, and no two visits were opened at one moment."""
    opened: list[Json] = []
    for i, visit in enumerate(visits):
        moment = (visit or {}).get("opened_at")
        if moment is not None and moment in opened:
            finder.add(f"visits[{i}].opened_at", said("what.duplicate_key"), said("allowed.once"), moment)
        opened.append(moment)
        numbers = [(tooth or {}).get("number") for tooth in (visit or {}).get("teeth") or []]
        for j, number in enumerate(numbers):
            if number is not None and number in numbers[:j]:
                finder.add(f"visits[{i}].teeth[{j}].number", said("what.tooth_twice"), said("allowed.once"), number)


def _tooth(found: Json, where: str, finder: Finder) -> Tooth | None:
    number = tooth_number(found, where, finder)
    sites = found.get("sites") or {}
    order = [s for s in sites.get("order") or [] if s is not None]
    _check_twice(order, f"{where}.sites.order", finder)
    _check_held(found.get("held") or {}, f"{where}.held", finder)
    requirements = _requirements(found.get("requirements") or [], where, finder)
    if any(fault.where.startswith((f"{where}.sites.order", f"{where}.sites.step")) for fault in finder.faults):
        return None  # without a sound order and step every reading would seem faulty too
    readings = _readings(sites, order, where, finder)
    _check_places(found, order, where, finder)
    _check_soundings(sites, readings, order, where, finder)
    if number is not None:
        _check_palate(number, sites, readings, where, finder)
        _check_mirror(number, found.get("own_height_from") or [], where, finder)
    if finder.faults or number is None:
        return None
    contact = found.get("contact", {})
    overgrowth = found.get("overgrowth")
    return Tooth(
        number=number,
        role=found.get("role", "crown"),
        vital=found.get("vital"),
        sound_measured=found.get("sound_measured"),
        state=found.get("state", "unknown"),
        overgrowth=None if overgrowth is None else Overgrowth(**overgrowth),
        site_state=found.get("site_state", {}),
        bleeding=frozenset(found.get("bleeding", ())),
        plaque_percent=found.get("plaque_percent"),
        sites=tuple(order),
        readings=readings,  # type: ignore[arg-type]  # the keys are the kinds of the layout
        contact_mesial=contact.get("mesial", "tooth"),
        contact_distal=contact.get("distal", "tooth"),
        root=Root(length_mm=found.get("root", {}).get("length_mm"), trunk_mm=found.get("root", {}).get("trunk_mm")),
        restoration=_restoration(found.get("restoration", {})),
        requirements=requirements,
        held=Held(**found.get("held", {})),
        own_height_from=tuple(MirrorReading(**o) for o in found.get("own_height_from", ())),
        edge_is_level=found.get("edge_is_level", False),
        recorded={k: found[k] for k in RECORDED_TOOTH if k in found},
    )


def _check_twice(sites: Sequence[str], path: str, finder: Finder) -> None:
    angles = [site_angle_deg(site) for site in sites]
    for i, angle in enumerate(angles):
        if angle in angles[:i]:
            finder.add(path, said("what.site_twice"), said("allowed.once"), sites[i])


def _check_held(held: Json, path: str, finder: Finder) -> None:
    """A station is held at one height: "F" and "0" are the same place."""
    for line, heights in held.items():
        _check_twice(list(heights or ()), f"{path}.{line}", finder)


def _readings(sites: Json, order: Sequence[str], where: str, finder: Finder) -> dict[str, dict[str, tuple[Reading, ...]]]:
    readings: dict[str, dict[str, tuple[Reading, ...]]] = {}
    step = sites.get("step", 1)
    for kind in READING_KINDS:
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
        step_mm = step.get(kind, 1) if isinstance(step, dict) else step
        readings[kind] = {
            site: _entry(entry, float(step_mm or 1), _path(sites, kind, site, order, where), finder)
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


def _check_places(found: Json, order: Sequence[str], where: str, finder: Finder) -> None:
    """Every site named beside the readings must be one of the order; held sites may be any place round the neck."""
    for key in ("bleeding", "site_state"):
        named = found.get(key) or ()
        for i, site in enumerate(named):
            if site is not None and site not in order:
                path = f"{where}.{key}.{site}" if isinstance(named, dict) else f"{where}.{key}[{i}]"
                finder.add(path, said("what.site_not_in_order"), said("allowed.in_order"), site)


def _check_soundings(
    sites: Json, readings: Mapping[str, Mapping[str, tuple[Reading, ...]]], order: Sequence[str], where: str, finder: Finder
) -> None:
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


def _check_palate(
    number: int, sites: Json, readings: Mapping[str, Mapping[str, tuple[Reading, ...]]], where: str, finder: Finder
) -> None:
    """Keratinised width "does not apply" on the palate alone."""
    for site, kept in readings.get("keratinised_width", {}).items():
        oral = abs(site_angle_deg(site) - ORAL_DEG) < QUARTER_DEG
        if any(r.outcome == "not applicable" for r in kept) and not (is_upper(number) and oral):
            path = _path(sites, "keratinised_width", site, sites["order"], where)
            finder.add(path, said("what.no_palate"), said("allowed.palate_only"), NOT_APPLICABLE)


def _check_mirror(number: int, mirrors: Sequence[Json], where: str, finder: Finder) -> None:
    """The healthy height comes from another tooth; this one speaks by its own readings."""
    for i, mirror in enumerate(mirrors):
        if mirror is not None and mirror.get("tooth") == number:
            finder.add(f"{where}.own_height_from[{i}].tooth", said("what.same_tooth"), said("allowed.other_tooth"), number)


def _exact(readings: tuple[Reading, ...]) -> tuple[Reading, ...]:
    return tuple(r for r in readings if r.outcome == "measured" and r.value_mm is not None)


def _requirements(found: Json, where: str, finder: Finder) -> tuple[RequirementWish, ...]:
    wishes: list[RequirementWish] = []
    for i, wish in enumerate(found):
        if wish is None or wish.get("id") is None:
            continue
        path = f"{where}.requirements[{i}]"
        _check_floor(f"plan.limit.{wish['id']}_mm", wish.get("limit"), f"{path}.limit", finder)
        _check_floor(f"plan.confidence.{wish['id']}", wish.get("confidence"), f"{path}.confidence", finder)
        if any(wish["id"] == (earlier or {}).get("id") for earlier in found[:i]):
            finder.add(f"{path}.id", said("what.duplicate_key"), said("allowed.once"), wish["id"])
        if wish.get("reason") is not None:
            wishes.append(RequirementWish(**wish))
    return tuple(wishes)


def _check_floor(key: str, asked: float | None, path: str, finder: Finder) -> None:
    """Refuse a limit that passes its hard floor; no file, setting or stored plan can."""
    try:
        floor = get(key).editable_down_to
    except KeyError:
        return
    if asked is not None and floor is not None and not asked >= floor:
        finder.add(path, said("what.below_floor"), said("allowed.at_least", least=floor), asked)


def _restoration(found: Json) -> Restoration:
    finish = found.get("finish")
    kept = {key: entry for key, entry in found.items() if key != "finish"}
    return Restoration(finish=None if finish is None else finish_wish(finish), **kept)


def finish_wish(finish: Json) -> FinishWish:
    """Return the wish as a range relative to the settled margin: in the sulcus m [-m, 0], at the margin [0, 0.5], above it m
    [m, open).
    """
    position = finish["position"]
    mm = float(finish.get("mm", value("plan.sulcus_limit_mm") if position == "in the sulcus" else 0))
    low, high = {
        "in the sulcus": (-mm, 0.0),
        "at the margin": (0.0, value("plan.at_the_margin_most_mm")),
        "supragingival": (mm, None),
    }[position]
    return FinishWish(position=position, mm=mm, low_mm=low + 0.0, high_mm=high)
