"""Every key of a case can be entered on the workbench, or its reason for staying away stands here by name."""

import re
from collections.abc import Iterator, Mapping
from typing import Any

import pytest

from collum.case import schema
from collum.case.reading_kinds import READING_KINDS
from tests.contracts.tracked import ROOT

FRONTEND = ROOT / "frontend/src"
FORM = (FRONTEND / "state/form.ts").read_text(encoding="utf-8")

# Entered outside the form of the findings: the beginning of a key, and where the word that ends it is written.
ELSEWHERE: Mapping[str, str] = {
    "patient.reference": "state/edits.ts",
    "teeth[].number": "state/edits.ts",
    "teeth[].held": "state/edits.ts",
    "teeth[].bleeding": "state/edits.ts",
    "teeth[].furcation": "state/edits.ts",
    "teeth[].fracture_depth_mm": "state/edits.ts",
    "teeth[].restoration_margin_mm": "state/edits.ts",
    "teeth[].wished_margin_mm": "state/edits.ts",
    "teeth[].site_state": "views/findings/Readings.svelte",
    "teeth[].bony_ledge": "views/findings/Readings.svelte",
    "teeth[].metal": "views/findings/Readings.svelte",
    **{f"teeth[].sites.{kind}": "api/case.ts" for kind in READING_KINDS},
    "bridges[].material": "views/bridge/Wishes.svelte",
    "bridges[].connector_height_mm": "views/bridge/Wishes.svelte",
    "bridges[].connector_width_mm": "views/bridge/Wishes.svelte",
    "bridges[].room_mm": "views/bridge/Wishes.svelte",
    "bridges[].beds[].tooth": "state/bridge.svelte.ts",
    "bridges[].beds[].tissue_mm": "views/bridge/Bed.svelte",
    "bridges[].beds[].ridge": "views/bridge/Bed.svelte",
    "teeth[].sites.step": "views/findings/Step.svelte",
    "patient.history": "state/patient.ts",
    "patient.growth": "views/findings/History.svelte",
    "patient.classified": "state/patient.ts",
    "visits[].screening": "state/visit.ts",
    "visits[].teeth": "state/visit.ts",
    "visits[].room": "state/visit.ts",
    "visits[].given_for": "state/visit.ts",
    "visits[].roles": "state/visit.ts",
    "visits[].answered_by": "state/visit.ts",
    "visits[].plate_contact_cm2": "state/visit.ts",
}
# Not entered on the workbench: the beginning of a key, and why.
NOT_ENTERED: Mapping[str, str] = {
    "format": "the workbench writes the newest form and reads the older ones",
    "units": "the workbench speaks in millimetres and degrees alone",
    "invented": "says that a shipped case was made up; a case of the practice is never marked so",
    "expected": "what a shipped case is there to show; the tests read it",
    "note": "a remark of who made a shipped case; notes of the practice stand at the tooth and at the visit",
    "teeth[].universal": "a tooth typed in the Universal numbering is kept by its ISO number",
    "teeth[].sites.order": "the six usual sites; further sites and another direction of travel come with the file",
    "teeth[].requirements": "own limits need a reason and come with the file, so that no hand moves one while it looks on",
    "teeth[].own_height_from": "readings taken elsewhere, at a healthy neighbour, come with the file",
    "bridges[].teeth": "which teeth carry what is drawn up in the file",
    "bridges[].pontics": "which teeth carry what is drawn up in the file",
    "bridges[].path": "the path of insertion is drawn up in the file, with the teeth",
    "visits[].date": "the program dates a visit",
    "visits[].kind": "asked when the visit is started and written by the program",
    "visits[].by": "asked when the visit is started and written by the program",
    "visits[].opened_at": "the program's own mark that answers go into this visit",
    "visits[].note": "written by the program after a round, from what is entered there",
    "visits[].overrides": "written by the program with name, reason and time",
    "visits[].list_before": "written by the program when the visit is opened",
    "visits[].read_out": "written by the program with who read the list out, and when",
    "visits[].time_outs": "written by the program with what was counted aloud, by whom and when",
    "visits[].corrections": "written by the program with name, reason and time",
}


def keys(shape: Mapping[str, Any], path: str = "") -> Iterator[str]:
    """Yield the path of every key that holds a value, `[]` after a list of tables."""
    if shape.get("properties"):
        for key, below in shape["properties"].items():
            yield from keys(below, f"{path}.{key}" if path else key)
    elif shape.get("items", {}).get("properties"):
        yield from keys(shape["items"], f"{path}[]")
    else:
        yield path


def fields() -> set[str]:
    """Return the keys that the form of the findings reaches, as paths of the case file."""
    written = set(re.findall(r'path: "([a-z0-9_.]+)"', FORM))
    return {path if path.startswith("patient.") else f"teeth[].{path}" for path in written}


def named(key: str, beginnings: Mapping[str, str]) -> str | None:
    return next((start for start in beginnings if key == start or key.startswith((f"{start}.", f"{start}["))), None)


def unreached(form: set[str], known: Mapping[str, Any]) -> list[str]:
    return [key for key in keys(known) if key not in form and not named(key, ELSEWHERE) and not named(key, NOT_ENTERED)]


def test_every_key_is_reached_or_named_with_its_reason() -> None:
    assert unreached(fields(), schema()) == []


def test_a_key_that_loses_its_field_is_found() -> None:
    assert unreached(fields() - {"teeth[].old_stump.height_mm"}, schema()) == ["teeth[].old_stump.height_mm"]


def test_a_new_key_without_a_field_is_found() -> None:
    known = schema()
    known["properties"]["teeth"]["items"]["properties"]["new_mm"] = {"type": "number"}
    assert unreached(fields(), known) == ["teeth[].new_mm"]


def test_no_field_leads_nowhere() -> None:
    assert fields() - set(keys(schema())) == set()


@pytest.mark.parametrize("start", [*ELSEWHERE, *NOT_ENTERED])
def test_a_named_key_is_still_one_and_has_no_field(start: str) -> None:
    assert any(named(key, {start: ""}) for key in keys(schema()))
    assert not any(named(path, {start: ""}) for path in fields() if path != "teeth[].mobility.scale")


@pytest.mark.parametrize(("start", "where"), ELSEWHERE.items())
def test_what_is_entered_elsewhere_is_written_there(start: str, where: str) -> None:
    word = start.split(".")[-1].removesuffix("[]")
    assert re.search(rf"\b{word}\b", (FRONTEND / where).read_text(encoding="utf-8"))
