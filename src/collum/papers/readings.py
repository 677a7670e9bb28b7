"""The readings as they were entered: every repeat, its step, and by a mark whatever else was noted of it."""

from collections.abc import Mapping
from string import ascii_lowercase
from typing import Any

from collum.case.reading_kinds import READING_ROWS, ReadingRow
from collum.papers.head import Content
from collum.wording import text

_NOTED = ("error", "step", "state", "landmark", "date", "examiner")

Notes = dict[str, str]


def readings_content(tooth: Mapping[str, Any]) -> Content:
    """Return the table of readings of one tooth of a case document, with the notes its marks stand for."""
    sites = tooth.get("sites", {})
    order = sites.get("order", [])
    notes: Notes = {}
    rows = [_row(sites, row, order, notes) for row in READING_ROWS if row.id in sites]
    return {
        "reading_columns": [
            text("paper.findings.kind"),
            text("paper.findings.step"),
            *(text("paper.site", {"site": site}, tooth["number"]) for site in order),
        ],
        "reading_rows": rows,
        "reading_note": text("paper.findings.reading_note" if rows else "paper.findings.nothing_read"),
        "reading_marks": [text("paper.findings.mark", {"mark": mark, "note": note}) for note, mark in notes.items()],
    }


def _row(sites: Mapping[str, Any], row: ReadingRow, order: list[str], notes: Notes) -> Content:
    stated = sites.get("step") or {}
    step = stated.get(row.id, row.step_mm) if isinstance(stated, Mapping) else stated
    return {
        "kind": text(f"paper.findings.kind_of.{row.id}"),
        "step": _plain(step),
        "cells": [[_entry(entry, notes) for entry in _repeats(sites[row.id].get(site))] for site in order],
    }


def _repeats(entry: Any) -> list[Any]:
    return [] if entry is None else entry if isinstance(entry, list) else [entry]


def _entry(entry: Any, notes: Notes) -> Content:
    """Return one reading as it was entered, with the mark of its note."""
    if isinstance(entry, str):
        return {"value": text("paper.findings.outcome." + entry.replace(" ", "_")), "mark": ""}
    if not isinstance(entry, Mapping):
        return {"value": _plain(entry), "mark": ""}
    beyond = "beyond" in entry
    number = _plain(entry["beyond"] if beyond else entry["value"])
    note = "; ".join(text(f"paper.findings.noted.{name}", {"noted": _plain(entry[name])}) for name in _NOTED if name in entry)
    mark = notes.setdefault(note, _mark(len(notes))) if note else ""
    return {"value": text("paper.findings.beyond", {"number": number}) if beyond else number, "mark": mark}


def _mark(count: int) -> str:
    """Return a, b, ... z, aa, ab, ..."""
    letters = len(ascii_lowercase)
    return ascii_lowercase[count] if count < letters else _mark(count // letters - 1) + ascii_lowercase[count % letters]


def _plain(entered: Any) -> str:
    """Return what was entered as it was: a number in its shortest form with at least one decimal and a true minus."""
    if not isinstance(entered, int | float):
        return str(entered)
    shown = f"{entered:.1f}" if round(entered, 1) == entered else f"{entered:g}"
    return shown.replace("-", "\N{MINUS SIGN}")
