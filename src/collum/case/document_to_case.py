"""From a document whose shapes were checked to the typed case, with the checks that need more than one value."""

from collections.abc import Sequence

from collum.case.bridge_wishes import check_beds
from collum.case.faults import Finder, said
from collum.case.model import (
    TAKEN_AS,
    Case,
    Expected,
    FinishWish,
    Held,
    MirrorReading,
    Overgrowth,
    Patient,
    RequirementWish,
    Restoration,
    Root,
    Tooth,
    site_angle_deg,
)
from collum.case.parts import bridge_of, patient_facts, tooth_facts, visit_of
from collum.case.shapes import Json
from collum.case.site_readings import check_palate, check_soundings, readings_of, steps_of
from collum.case.tooth_number import tooth_number
from collum.evidence import get, value

_OF_TOOTH = tuple(key for key in TAKEN_AS if key != "phenotype")


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
            phenotype=patient.get("phenotype", TAKEN_AS["phenotype"]),
            facts=patient_facts(patient),
            not_stated=frozenset({"phenotype"} - patient.keys()),
        ),
        teeth=tuple(t for t in teeth if t is not None),
        invented=checked.get("invented", False),
        bridges=tuple(bridge_of(bridge) for bridge in checked.get("bridges", ())),
        visits=tuple(visit_of(i, visit) for i, visit in enumerate(checked.get("visits", ()))),
        note=checked.get("note"),
        expected=Expected(**checked["expected"]) if "expected" in checked else None,
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
    readings = readings_of(sites, order, where, finder)
    _check_places(found, order, where, finder)
    check_soundings(sites, readings, order, where, finder)
    if number is not None:
        check_palate(number, sites, readings, where, finder)
        _check_mirror(number, found.get("own_height_from") or [], where, finder)
    if finder.faults or number is None:
        return None
    taken = _taken(found)
    overgrowth = found.get("overgrowth")
    return Tooth(
        number=number,
        role=taken["role"],
        vital=found.get("vital"),
        sound_measured=found.get("sound_measured"),
        state=taken["state"],
        overgrowth=None if overgrowth is None else Overgrowth(**overgrowth),
        site_state=found.get("site_state", {}),
        bleeding=frozenset(found.get("bleeding", ())),
        plaque_percent=found.get("plaque_percent"),
        sites=tuple(order),
        steps_mm=steps_of(sites.get("step")),
        readings=readings,
        contact_mesial=taken["contact.mesial"],
        contact_distal=taken["contact.distal"],
        root=Root(length_mm=found.get("root", {}).get("length_mm"), trunk_mm=found.get("root", {}).get("trunk_mm")),
        restoration=_restoration(found.get("restoration", {}), taken["restoration.kind"]),
        requirements=requirements,
        held=Held(**found.get("held", {})),
        own_height_from=tuple(MirrorReading(**o) for o in found.get("own_height_from", ())),
        edge_is_level=found.get("edge_is_level", False),
        facts=tooth_facts(found),
        not_stated=frozenset(key for key in _OF_TOOTH if _stated(found, key) is None),
    )


def _taken(found: Json) -> dict[str, Json]:
    """Return what each key with a standing meaning holds: what was stated, else what it is taken as."""
    return {key: _stated(found, key) or TAKEN_AS[key] for key in _OF_TOOTH}


def _stated(found: Json, key: str) -> Json | None:
    table, _, last = key.rpartition(".")
    return (found.get(table, {}) if table else found).get(last)


def _check_twice(sites: Sequence[str], path: str, finder: Finder) -> None:
    angles = [site_angle_deg(site) for site in sites]
    for i, angle in enumerate(angles):
        if angle in angles[:i]:
            finder.add(path, said("what.site_twice"), said("allowed.once"), sites[i])


def _check_held(held: Json, path: str, finder: Finder) -> None:
    """A station is held at one height: "F" and "0" are the same place."""
    for line, heights in held.items():
        _check_twice(list(heights or ()), f"{path}.{line}", finder)


def _check_places(found: Json, order: Sequence[str], where: str, finder: Finder) -> None:
    """Every site named beside the readings must be one of the order; held sites may be any place round the neck."""
    for key in ("bleeding", "site_state"):
        named = found.get(key) or ()
        for i, site in enumerate(named):
            if site is not None and site not in order:
                path = f"{where}.{key}.{site}" if isinstance(named, dict) else f"{where}.{key}[{i}]"
                finder.add(path, said("what.site_not_in_order"), said("allowed.in_order"), site)


def _check_mirror(number: int, mirrors: Sequence[Json], where: str, finder: Finder) -> None:
    """The healthy height comes from another tooth; this one speaks by its own readings."""
    for i, mirror in enumerate(mirrors):
        if mirror is not None and mirror.get("tooth") == number:
            finder.add(f"{where}.own_height_from[{i}].tooth", said("what.same_tooth"), said("allowed.other_tooth"), number)


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


def _restoration(found: Json, kind: str) -> Restoration:
    finish = found.get("finish")
    kept = {**found, "kind": kind, "finish": None if finish is None else finish_wish(finish)}
    return Restoration(**kept)


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
