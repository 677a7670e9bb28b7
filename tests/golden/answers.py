"""What is asked of every frozen case: by part of the answer and field. Nothing here knows where things are in the program."""

import tempfile
from collections.abc import Callable, Collection, Mapping
from math import cos, radians
from pathlib import Path
from typing import Any

from tests.golden import doors
from tests.golden.fields import Answer, answer_of, briefly, fields_of
from tests.golden.pdf import on_paper
from tests.golden.store import FrozenCase

DRAWS = (2_000, 10_000)
FEW = DRAWS[0]
# Parts that are asked with both numbers of draws; a plan's papers, gate and commands follow from it and are asked with one.
TWICE = ("arrays", "plan", "judged", "restoration", "bridge", "heat")
ONCE = ("safety", "papers", "terminal")
PARTS = (*(f"{part}-{draws}" for part in TWICE for draws in DRAWS), *ONCE)
LOOSE_PAPERS = ("plan-sheet", "findings-sheet", "restoration-sheet")
COMMANDS = ("plan", "restoration", "safety")
ANYWHERE = "all"  # the case of an answer that belongs to none
OF_CASE_FILES, OF_CONSTANTS = "case-files", "constants"
Fields = dict[str, Answer]
Document = dict[str, Any]


def answers_of(case: FrozenCase, parts: Collection[str] = PARTS) -> dict[str, Fields]:
    """Return the parts that are asked of a case; one that says nothing of it is left out."""
    found: dict[str, Fields] = {}
    for draws in DRAWS:
        twice = [part for part in TWICE if f"{part}-{draws}" in parts]
        once = [part for part in ONCE if part in parts and draws == FEW]
        if not twice and not once:
            continue
        asked = doors.Asked(case.document, case.seed, draws)
        for part in twice:
            found[f"{part}-{draws}"] = _of_plan(part, case, asked, brief=draws != FEW and not case.demo)
        for part in once:
            found[part] = _ONCE[part](case, asked)
    return {part: fields for part, fields in found.items() if fields}


def _of_plan(part: str, case: FrozenCase, asked: doors.Asked, *, brief: bool) -> Fields:
    """Return arrays one by one; of a document its fields, or its parts as a whole where `brief`."""
    if part == "arrays":
        return {name: answer_of(found, whole=case.demo) for name, found in asked.arrays()}
    document = _without_version(_DOCUMENTS[part](case, asked) or {})
    return briefly(document) if brief else fields_of(document, whole=case.demo)


def answer_to_file(data: bytes, kind: str) -> Fields:
    """Return the answer to a case file: its canonical form, or each fault."""
    found = doors.answer_to_file(data, kind)
    if isinstance(found, bytes):
        return {"accepted": answer_of(found.decode(), whole=False)}
    return {"refused": "\n".join(" | ".join(str(said) for said in fault.values()) for fault in found)}


def constants() -> Fields:
    """Return every number of the evidence, so that a changed one is named beside what it moves."""
    return {key: [number] for key, number in doors.constants().items()}


def _judged(case: FrozenCase, asked: doors.Asked) -> Document:
    """Return two routes for lines that rest on the margin that was read, so that no solver has a part in them."""
    found = {}
    for position, tooth in zip(asked.positions, asked.plan()["teeth"], strict=True):
        margin = tooth["levels"]["gingival_margin"]["mean_height_mm"]
        for index in (case.seed, case.seed + 1):
            lines = _moved_lines(margin, index % 4)
            found[f"tooth {position}, {lines['route']}"] = asked.judged(position, lines)
    return found


def _moved_lines(margin_mm: list[float], kind: int) -> dict[str, Any]:
    around = [cos(radians(10 * station)) for station in range(len(margin_mm))]
    cut = [round(top - 0.8 - 0.4 * side, 3) for top, side in zip(margin_mm, around, strict=True)]
    finish = [round(top + 0.3 * side, 3) for top, side in zip(margin_mm, around, strict=True)]
    moved: tuple[dict[str, Any], ...] = (
        {"route": "soft tissue only", "hold": ("cut", 60.0, round(margin_mm[6] - 1.5, 3))},
        {"route": "restore without lengthening", "cut_line_mm": margin_mm},
        {"route": "soft tissue and bone", "bone_reduction_mm": [round(0.6 + 0.5 * side, 3) for side in around]},
        {"route": "extrusion first", "extrusion_mm": 1.2, "hold": ("finish", 180.0, round(margin_mm[18] - 0.5, 3))},
    )
    return {"cut_line_mm": cut, "finish_line_mm": finish, **moved[kind]}


def _heat(case: FrozenCase, asked: doors.Asked) -> Document | None:
    """Return heat and pacing as they are offered first, and a section where there is a round."""
    return {**asked.heat(), "section": asked.section()} if case.heat else None


def _safety(case: FrozenCase, asked: doors.Asked) -> Fields:
    found: Fields = {}
    for procedure in doors.PROCEDURES:
        said = {"screening": asked.screening(procedure), "closed": asked.opening(procedure) or "opened"}
        found |= {f"{procedure}.{name}": answer for name, answer in fields_of(said, whole=case.demo).items()}
    return found


def _papers(case: FrozenCase, asked: doors.Asked) -> Fields:
    """Return every paper of a demo case, of another one sheet and what the gate opens; the card where heat is asked."""
    chosen = LOOSE_PAPERS if case.demo else LOOSE_PAPERS[case.seed % 3 :][:1]
    papers: dict[str, bytes | str] = {kind: asked.paper(kind) for kind in (*chosen, "letter")}
    if case.demo:
        papers["checklist"] = asked.paper("checklist")
    if asked.bridges() is not None:
        papers["bridge-sheet"] = asked.paper("bridge-sheet")
    for procedure in doors.PROCEDURES:
        if asked.opening(procedure) is None and (case.heat or procedure != "current"):
            papers[procedure] = asked.operating_paper(procedure)
    found: Fields = {}
    for kind, paper in papers.items():
        fields = {"refused": paper} if isinstance(paper, str) else on_paper(paper)
        found |= {f"{kind}.{name}": answer_of(held, whole=case.demo) for name, held in fields.items()}
    return found


def _terminal(case: FrozenCase, asked: doors.Asked) -> Fields:
    """Return what the commands print for the case; for every fourth made one, since the text follows from the documents."""
    if not case.demo and case.seed % 4:
        return {}
    commands = [*COMMANDS, *(["bridge"] if asked.bridges() is not None else [])]
    found: Fields = {}
    with tempfile.TemporaryDirectory() as folder:
        for command in commands:
            options = () if command == "safety" else ("--seed", str(case.seed), "--draws", str(FEW))
            status, out, err = doors.ran(Path(folder), command, "-", *options, stdin=doors.as_file(case.document))
            found[f"{command}.status"] = [status]
            found[f"{command}.out"] = answer_of(out.replace(doors.VERSION, "VERSION"), whole=case.demo)
            found[f"{command}.err"] = answer_of(err, whole=case.demo)
    return found


def _without_version(document: Document) -> Document:
    """Return a document without its version; of its constants the names, since their values stand by themselves."""
    plain = {key: held for key, held in document.items() if key != "program_version"}
    if "constants" in plain:
        plain["constants"] = " ".join(constant["key"] for constant in plain["constants"])
    return plain


_DOCUMENTS: Mapping[str, Callable[[FrozenCase, doors.Asked], Document | None]] = {
    "plan": lambda _, asked: asked.plan(),
    "judged": _judged,
    "restoration": lambda _, asked: asked.restorations(),
    "bridge": lambda _, asked: asked.bridges(),
    "heat": _heat,
}
_ONCE: Mapping[str, Callable[[FrozenCase, doors.Asked], Fields]] = {
    "safety": _safety,
    "papers": _papers,
    "terminal": _terminal,
}
