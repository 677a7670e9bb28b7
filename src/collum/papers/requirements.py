"""The requirements of a route as rows: limit, what was found, the chance and the chance asked, each in its own unit."""

from collections.abc import Callable, Mapping

from collum.papers.head import Content, Plan, mm, ratio, verdict_words
from collum.plan.lengthening.requirements.table import AT_MOST
from collum.wording import text

_COLUMNS = ("requirement", "value", "limit", "chance", "asked", "verdict")
_FIGURE: Mapping[str, Callable[[float], str]] = {"mm": mm, "ratio": ratio, "share": ratio}


def requirements_content(tooth: Plan, route: Plan) -> Content:
    """Return the table of requirements, what does not apply by its reason, and what the verdict rests on."""
    applying = [r for r in route["requirements"] if r["verdict"] != "not needed"]
    return {
        "requirements_title": text("paper.plan.requirements"),
        "requirement_columns": [text(f"paper.plan.{name}") for name in _COLUMNS],
        "requirements": [_row(r, tooth["number"]) for r in applying],
        "not_applying": _not_applying(route),
        "rests_on": _rests_on(route),
        "chance_means": text("paper.plan.chance_means"),
    }


def figure(r: Plan, number: float | None) -> str:
    """Return a number of a requirement in its unit; a dash where it is unknown."""
    return text("paper.none") if number is None else _FIGURE[r["unit"]](number)


def _not_applying(route: Plan) -> list[str]:
    """Return the requirements that ask nothing of this route, those with one reason together."""
    names: dict[str, list[str]] = {}
    for r in route["requirements"]:
        if r["verdict"] == "not needed":
            names.setdefault(r["reason"]["text"], []).append(text(f"paper.requirement.{r['id']}"))
    return [text("paper.plan.not_applying", {"requirements": ", ".join(found), "reason": why}) for why, found in names.items()]


def _rests_on(route: Plan) -> str | None:
    """Return the requirement that decides, with its reason."""
    deciding = [r for r in route["requirements"] if r.get("required", True)]
    if not deciding:
        return None
    worst = deciding[0]
    name = text(f"paper.requirement.{worst['id']}")
    return text("paper.plan.rests_on", {"requirement": name, "reason": worst["reason"]["text"]})


def _row(r: Plan, number: int) -> Content:
    return {
        "open": r.get("required", True) and r["verdict"] != "kept",
        "cells": [_name(r), _found(r, number), _limit(r), _chance(r, "probability"), _chance(r, "confidence"), _verdict(r)],
        "note": r["reason"]["text"] if r["value"] is None else None,
    }


def _name(r: Plan) -> str:
    kind = "hard" if r["hard"] else "soft" if r.get("required", True) else "wish"
    return text(f"paper.plan.{kind}", {"requirement": text(f"paper.requirement.{r['id']}")})


def _found(r: Plan, number: int) -> str:
    if r["value"] is None or r["worst_station_deg"] is None:
        return figure(r, r["value"])
    return text("paper.plan.found_at", {"found": figure(r, r["value"]), "station_deg": r["worst_station_deg"]}, number)


def _limit(r: Plan) -> str:
    if r["limit"] is None:
        return text("paper.none")
    return text("paper.plan.at_most" if r["id"] in AT_MOST else "paper.plan.at_least", {"limit": figure(r, r["limit"])})


def _chance(r: Plan, which: str) -> str:
    return text("paper.none") if r["probability"] is None else text("paper.chance", {"share": r[which]})


def _verdict(r: Plan) -> str:
    if r["verdict"] != "short" or r["short_by"] is None:
        return verdict_words(r)
    if r["unit"] == "mm":
        return text("paper.short_by", {"short_by_mm": r["short_by"]})
    return text("paper.short_by_plain", {"short_by": figure(r, r["short_by"])})
