"""Which part of the program reads which key of a case: recorded while parts answer on many cases, never written by hand.

Every attribute of the typed case notes the module that asked for it.
"""

import inspect
import json
import sys
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import fields
from pathlib import Path
from types import FrameType
from typing import Any
from unittest.mock import patch

from collum.app.plans.bridge import bridges_of_plan
from collum.app.plans.heat import heat_of_plan
from collum.app.plans.planning import Planner
from collum.app.plans.restoration import restorations_of_plan
from collum.app.speaking import words
from collum.case import Case, bridge, facts, from_document, history, model, plan_mark, read, to_document, visit
from collum.plan.heat import HeatWishes
from collum.plan.safety import screen
from collum.wire.safety.document import safety_document
from tests.making.answers import answered

ROOT = Path(__file__).parents[2]
AREAS = {
    **{f"collum.{floor}.{area}": area for floor in ("plan", "wire") for area in ("safety", "restoration", "bridge", "heat")},
    "collum.plan": "routes",
    "collum.wire": "routes",
    "collum.core": "routes",
}
# Facts that fall under other rows than those of the full file, so that all that tells the rows apart is read.
_ANSWER = {"by": "Clinic", "date": "2026-05-01", "agrees": True}
_OTHERWISE: Mapping[str, Mapping[str, Any]] = {
    "jaw_irradiated": {"which": "jaw outside the field", "stated_by": "C", "stated_on": "2026-05-01", "answer": _ANSWER},
    "poor_healing": {"which": "few neutrophils", "neutrophils": 0.5, "answer": _ANSWER},
    "diabetes_uncontrolled": {"signs": True, "answer": _ANSWER},
    "bleeding_disorder": {"which": "few platelets", "platelets": 80, "answer": _ANSWER},
    "heart_or_pressure": {"which": "infarction", "recent": True, "answer": _ANSWER},
    "pregnant": {"week": 10, "needed": True, "answer": _ANSWER},
    "allergy": {"latex": "swelling, wheeze or collapse", "latex_free": False, "answer": _ANSWER},
    "bone_drugs": {"which": "yearly drip", "answer": _ANSWER},
    "blood_thinner": {"which": "one antiplatelet", "recent_stent": True, "answer": _ANSWER},
}
_DEMO = ("AQ-07", "AQ-26", "AQ-41")
ORDER = ("routes", "restoration", "bridge", "heat", "safety")

# Where the attributes of a class stand in the file; another name than the key's own beside them.
_CLASSES: Mapping[type, tuple[str, Mapping[str, str]]] = {
    model.Patient: ("patient", {}),
    model.Tooth: (
        "teeth[]",
        {
            "contact_mesial": "contact.mesial",
            "contact_distal": "contact.distal",
            "steps_mm": "sites.step",
            "sites": "sites.order",
        },
    ),
    model.Overgrowth: ("teeth[].overgrowth", {}),
    model.Root: ("teeth[].root", {}),
    model.Restoration: ("teeth[].restoration", {}),
    model.FinishWish: ("teeth[].restoration.finish", {"low_mm": "mm", "high_mm": "mm"}),
    model.RequirementWish: ("teeth[].requirements[]", {}),
    model.Held: ("teeth[].held", {}),
    model.MirrorReading: ("teeth[].own_height_from[]", {}),
    model.Reading: ("reading", {"step_mm": "step", "error_mm": "error", "value_mm": "value"}),
    model.Expected: ("expected", {}),
    facts.PatientFacts: ("patient", {}),
    history.History: ("patient.history", {}),
    history.Growth: ("patient.growth", {}),
    history.Classified: ("patient.classified[]", {}),
    **{
        kind: (f"patient.history.{fact}", {})
        for fact, kind in {
            "cardiac_device": history.CardiacDevice,
            "other_stimulator": history.Stimulator,
            "jaw_irradiated": history.JawRadiotherapy,
            "poor_healing": history.WeakDefences,
            "diabetes_uncontrolled": history.Diabetes,
            "bleeding_disorder": history.BleedingDisorder,
            "endocarditis_risk": history.EndocarditisRisk,
            "heart_or_pressure": history.HeartOrPressure,
            "pregnant": history.Pregnancy,
            "anaesthetic_reaction": history.AnaestheticReaction,
            "allergy": history.Allergy,
            "bone_drugs": history.BoneDrug,
            "blood_thinner": history.BloodThinner,
        }.items()
    },
    facts.ToothFacts: ("teeth[]", {}),
    facts.Furcation: ("teeth[].furcation[]", {}),
    facts.Mobility: ("teeth[].mobility", {}),
    facts.RootFilling: ("teeth[].root_filling", {}),
    facts.Core: ("teeth[].core", {}),
    facts.OldCrown: ("teeth[].old_crown", {}),
    facts.OldStump: ("teeth[].old_stump", {}),
    bridge.Bridge: ("bridges[]", {}),
    bridge.InsertionPath: ("bridges[].path", {}),
    bridge.Bed: ("bridges[].beds[]", {}),
    visit.Visit: ("visits[]", {}),
    visit.ToothAnswers: ("visits[].teeth[]", {}),
    visit.Roles: ("visits[].roles", {}),
    visit.Override: ("visits[].overrides[]", {}),
}
# Attributes that are tables with keys of the file.
_TABLES = {"readings": "teeth[].sites", "tissue_mm": "bridges[].beds[].tissue_mm"}
# Classes that are found under more than one key: their place is the key they were last asked for by.
_SHARED = (facts.Proximal, facts.Widths, history.Answer)
# The records themselves: who calls their methods is the reader.
_RECORDS = tuple(module.__name__ for module in (model, facts, history, bridge, visit))


def read_by() -> dict[str, list[str]]:
    """Return, for each key that any part reads, the parts in their order."""
    seen: set[tuple[str, str]] = set()
    with _watching(seen):
        for case in _cases():
            _answer(case)
    return {place: [area for area in ORDER if (place, area) in seen] for place in {place for place, _ in seen}}


def _cases() -> Iterator[Case]:
    """Give the file that uses every key, with every fact that is yes or no as either, and demo cases of every ending."""
    full = json.loads((ROOT / "tests/case_versions/case-3.json").read_text(encoding="utf-8"))
    yield from_document(full)
    for answer in (True, False):
        yield from_document({**full, "teeth": [_answering(tooth, answer) for tooth in full["teeth"]]})
    yield from_document({**full, "patient": {**full["patient"], "history": _OTHERWISE, "stops": ["see letter"]}})
    demo = [read((ROOT / f"src/collum/demo_practice/{name}.toml").read_bytes(), kind="toml") for name in _DEMO]
    yield from demo
    override = {"name": "D", "reason": "r", "at": "2026-05-01T08:01:00Z", "given_for": plan_mark(demo[0])}
    overrides = [{"rule": rule, **override} for rule in ("poor_healing", "margin_measured")]
    answers = {"poor_healing": "yes", "margin_measured": "no"}
    yield from_document(answered(to_document(demo[0]), answers, opened_at="2026-05-01T08:00:00Z", overrides=overrides))
    last = to_document(demo[-1])
    involved = [{"side": "facial", "grade": 1, "scale": "Hamp"}]
    yield from_document({**last, "teeth": [{**tooth, "furcation": involved} for tooth in last["teeth"]]})


def _answering(facts: dict[str, Any], answer: bool) -> dict[str, Any]:
    """Return the facts with every yes or no, in their tables too, as `answer`."""

    def told(fact: Any) -> Any:
        if isinstance(fact, dict):
            return _answering(fact, answer)
        return answer if isinstance(fact, bool) else fact

    return {key: told(fact) for key, fact in facts.items()}


def _answer(case: Case) -> None:
    made = Planner(40).planned(case, seed=1)
    restorations_of_plan(case, made)
    bridges_of_plan(case, made)
    safety_document(screen(case), words)
    with patch("collum.plan.heat.tooth_heat.plan_pacing", side_effect=_Paced), suppress(_Paced):
        heat_of_plan(made, HeatWishes())  # pacing itself knows strokes and bodies alone


class _Paced(Exception):
    """What is asked of the case has been asked."""


@contextmanager
def _watching(seen: set[tuple[str, str]]) -> Iterator[None]:
    shared: dict[int, str] = {}
    patches = [patch.object(cls, "__getattribute__", _getter(cls, seen, shared)) for cls in _CLASSES]
    patches += [patch.object(cls, "__getattribute__", _shared_getter(cls, seen, shared)) for cls in _SHARED]
    for one in patches:
        one.start()
    try:
        yield
    finally:
        for one in patches:
            one.stop()


def _getter(cls: Any, seen: set[tuple[str, str]], shared: dict[int, str]) -> Any:
    place, renamed = _CLASSES[cls]
    places = {field.name: f"{place}.{renamed.get(field.name, field.name)}" for field in fields(cls)}

    def get(self: object, name: str) -> Any:
        found = object.__getattribute__(self, name)
        if name in places:
            _note(seen, places[name])
        if name in _TABLES and found is not None:
            return _Table(found, _TABLES[name], seen)
        if isinstance(found, _SHARED):
            shared[id(found)] = places[name]
        return found

    return get


def _shared_getter(cls: Any, seen: set[tuple[str, str]], shared: Mapping[int, str]) -> Any:
    names = {field.name for field in fields(cls)}

    def get(self: object, name: str) -> Any:
        if name in names and id(self) in shared:
            _note(seen, f"{shared[id(self)]}.{name}")
        return object.__getattribute__(self, name)

    return get


class _Table(dict[str, Any]):
    """A table whose keys are keys of the file; it notes who asks for one."""

    def __init__(self, found: Mapping[str, Any], place: str, seen: set[tuple[str, str]]) -> None:
        super().__init__(found)
        self._place, self._seen = place, seen

    def __getitem__(self, key: str) -> Any:
        _note(self._seen, f"{self._place}.{key}")
        return super().__getitem__(key)

    def get(self, key: str, default: Any = None) -> Any:
        _note(self._seen, f"{self._place}.{key}")
        return super().get(key, default)

    def items(self) -> Any:
        for key in self:
            _note(self._seen, f"{self._place}.{key}")
        return super().items()


def _passed_over(frame: FrameType) -> bool:
    """Return whether a frame is of the watching itself, or a method of a record that somebody calls."""
    module = frame.f_globals.get("__name__")
    return module in (__name__, "unittest.mock") or (module in _RECORDS and not frame.f_code.co_name.startswith("__"))


def _note(seen: set[tuple[str, str]], place: str) -> None:
    """Note the part whose module asks; copies, comparisons and the case's own modules are no readers."""
    frame = inspect.currentframe()
    while frame is not None and _passed_over(frame):
        frame = frame.f_back
    if frame is None or frame.f_globals.get("__name__") == "dataclasses" or frame.f_code.co_name.startswith("__"):
        return
    while frame is not None:
        module = str(frame.f_globals.get("__name__"))
        if module.startswith("collum."):
            area = next((name for part, name in AREAS.items() if module == part or module.startswith(f"{part}.")), None)
            if area is not None:
                seen.add((place, area))
            return
        frame = frame.f_back


if __name__ == "__main__":
    for key, parts in sorted(read_by().items()):
        print(key, ", ".join(parts), file=sys.stdout)
