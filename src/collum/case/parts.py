"""Between the checked tables of a document and the typed parts of a case, both ways. A field is named as its key."""

from collections.abc import Callable, Mapping
from dataclasses import fields
from functools import cache, partial
from typing import Any

from collum.case.bridge import Bed, Bridge, InsertionPath
from collum.case.facts import (
    Canal,
    Core,
    Furcation,
    HygienePhase,
    Mobility,
    OldCrown,
    OldStump,
    PatientFacts,
    Proximal,
    RootFilling,
    ToothFacts,
    Widths,
)
from collum.case.history import Answer, Classified, Growth, History, records_of_history
from collum.case.shapes import Json
from collum.case.visit import AnsweredBy, Correction, Override, ReadOut, Roles, TimeOut, ToothAnswers, Visit

Maker = Callable[[Json], Any]


def _each(make: Maker, found: Json) -> tuple[Any, ...]:
    return tuple(make(one) for one in found)


def _made(of: type, parts: Mapping[str, Maker], found: Mapping[str, Json]) -> Any:
    """Return a record of the keys of a checked table; `parts` makes those that are tables or lists of their own."""
    return of(**{key: parts[key](entry) if key in parts else entry for key, entry in found.items()})


def _one(of: type) -> Maker:
    return lambda found: of(**found)


_IN_TOOTH: Mapping[str, Maker] = {
    "furcation": partial(_each, _one(Furcation)),
    "mobility": _one(Mobility),
    "root_filling": _one(RootFilling),
    "canal": _one(Canal),
    "hygiene_phase": _one(HygienePhase),
    "core": _one(Core),
    "proximal_crest_from_film_mm": _one(Proximal),
    "contact_point_mm": _one(Proximal),
    "old_crown": _one(OldCrown),
    "visible_aspects": tuple,
    "old_stump": _one(OldStump),
    "missing_walls": tuple,
    "dentine_seat_mm": _one(Proximal),
    "neck_width_mm": _one(Widths),
    "pulp_width_mm": _one(Widths),
}


def _stated(of: type) -> Maker:
    """Return what makes a record; one that may hold the answer of a physician holds it as a record too."""
    return lambda found: _made(of, {"answer": _one(Answer)}, found)


_IN_HISTORY: Mapping[str, Maker] = {fact: _stated(record) for fact, record in records_of_history().items()}
_IN_PATIENT: Mapping[str, Maker] = {
    "drugs": tuple,
    "stops": tuple,
    "history": lambda found: _made(History, _IN_HISTORY, found),
    "growth": _stated(Growth),
    "classified": partial(_each, _one(Classified)),
}
_IN_BRIDGE: Mapping[str, Maker] = {
    "teeth": tuple,
    "pontics": tuple,
    "path": _one(InsertionPath),
    "beds": partial(_each, _one(Bed)),
}
_IN_VISIT: Mapping[str, Maker] = {
    "teeth": partial(_each, _one(ToothAnswers)),
    "roles": _one(Roles),
    "overrides": partial(_each, _one(Override)),
    "corrections": partial(_each, _one(Correction)),
    "answered_by": _one(AnsweredBy),
    "read_out": _one(ReadOut),
    "time_outs": partial(_each, _one(TimeOut)),
}


def tooth_facts(found: Mapping[str, Json]) -> ToothFacts:
    """Return the facts of a tooth in its checked table; keys that are no facts are passed over."""
    made: ToothFacts = _made(ToothFacts, _IN_TOOTH, _of(ToothFacts, found))
    return made


def patient_facts(found: Mapping[str, Json]) -> PatientFacts:
    """Return the facts of a patient in the checked table; keys that are no facts are passed over."""
    made: PatientFacts = _made(PatientFacts, _IN_PATIENT, _of(PatientFacts, found))
    return made


def bridge_of(found: Mapping[str, Json]) -> Bridge:
    """Return the bridge of a checked table."""
    made: Bridge = _made(Bridge, _IN_BRIDGE, found)
    return made


def wishes_in(found: Mapping[str, Json]) -> Mapping[str, Any]:
    """Return checked wishes as fields of a bridge."""
    return {key: _IN_BRIDGE[key](entry) if key in _IN_BRIDGE else entry for key, entry in found.items()}


def visit_of(index: int, found: Mapping[str, Json]) -> Visit:
    """Return the visit of a checked table, at its place in the case."""
    made: Visit = _made(Visit, _IN_VISIT, {"index": index, **found})
    return made


def written(part: Any) -> dict[str, Json]:
    """Return a typed part as the table it was read from: its fields that are in the file, by their keys."""
    found = ((name, getattr(part, name)) for name in _written(part.__class__))
    return {name: _plain(entry) for name, entry in found if entry is not None}


@cache
def _written(part: Any) -> tuple[str, ...]:
    return tuple(field.name for field in fields(part) if field.metadata.get("written", True))


def _of(part: type, found: Mapping[str, Json]) -> dict[str, Json]:
    return {field.name: found[field.name] for field in fields(part) if field.name in found}


def _plain(entry: Any) -> Json:
    if isinstance(entry, str | float | int):  # most are; what follows asks longer
        return entry
    if hasattr(entry, "__dataclass_fields__"):
        return written(entry)
    if isinstance(entry, Mapping):
        return {key: _plain(below) for key, below in entry.items()}
    return [_plain(below) for below in entry] if isinstance(entry, tuple) else entry
