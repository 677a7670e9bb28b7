"""Stored plans for the tests of the papers, as the record holds them, each with the case it was made from."""

import json
from collections.abc import Iterator
from dataclasses import replace
from functools import lru_cache
from pathlib import Path
from typing import Any

from collum.papers import OPERATING, PaperHead, PaperKind, operating_paper, paper
from collum.wire.earlier import todays_form
from collum.wording import text
from tests.measuring.heat import paced
from tests.measuring.openings import opening_of
from tests.measuring.sheets import answer_of
from tests.papers.four_routes import four_routes

HEAD = PaperHead(
    plan_id="0195f3a2-7b1e-7c3d-9a41-5f0e2b7d9c11", made_at="2026-11-25T09:30:12+00:00", result_sha256="0123456789abcdef" * 4
)
# Plans of the first version, which built one route only.
OLD = {file.stem: json.loads(file.read_text(encoding="utf-8")) for file in sorted(Path(__file__).parent.glob("stored/*.json"))}
KEPT = ("46-kept", "21-kept-four-sites", "33-kept-twelve-sites")
MORE_CONSTANTS = 6
_CASES = {stored["plan"]["input_sha256"]: stored["case"] for stored in OLD.values()}


def old_plan(name: str) -> dict[str, Any]:
    """Return a stored plan that holds one route, as a paper takes it."""
    plan: dict[str, Any] = json.loads(todays_form(json.dumps(OLD[name]["plan"])))
    return plan


def full_plan(name: str = "46-kept", **changes: Any) -> dict[str, Any]:
    """Return a stored plan in which all four routes are open, with the constants its rules rest on and a few more.

    A plan's whole list takes longer to read from the page than all the rest; `old_plan` keeps it.
    """
    plan = four_routes(old_plan(name), **changes)
    rules = {key for route in plan["teeth"][0]["routes"] for r in route["requirements"] for key in r["evidence"]}
    plan["constants"] = [c for i, c in enumerate(plan["constants"]) if c["key"] in rules or i < MORE_CONSTANTS]
    return plan


def printed(
    kind: PaperKind, plan: dict[str, Any], *, head: PaperHead = HEAD, tooth: int = 0, heat: dict[str, Any] | None = None
) -> bytes:
    """Print a paper of a stored plan, the same one once; one of an operation as the gate opens it for harmless answers.

    Raises Closed where the plan gives no ground for a paper of an operation.
    """
    return _printed_once(kind, json.dumps(plan), head, tooth, json.dumps(heat))


@lru_cache(maxsize=64)
def _printed_once(kind: PaperKind, plan: str, head: PaperHead, tooth: int, heat: str) -> bytes:
    return printed_anew(kind, json.loads(plan), head=head, tooth=tooth, heat=json.loads(heat))


def printed_anew(
    kind: PaperKind,
    plan: dict[str, Any],
    *,
    head: PaperHead = HEAD,
    tooth: int = 0,
    heat: dict[str, Any] | None = None,
    more: str = "",
) -> bytes:
    """Print a paper as `printed` does, whether or not it was printed before; `more` follows each sentence of its answer."""
    case = _CASES[plan["input_sha256"]]
    if kind in OPERATING:
        return operated(kind, plan, case, head=head, tooth=tooth, heat=heat)
    case = _with_bridge(case) if kind == "bridge-sheet" else case
    answer = answer_of(kind, case, plan["teeth"][tooth]["number"])
    if answer is not None and more:
        said = answer.document.model_dump(mode="json")
        for sentence in sentences(said):
            sentence["text"] += more
        answer = replace(answer, document=type(answer.document).model_validate(said))
    return paper(kind, plan, tooth=tooth, head=head, case=case, answer=answer)


def operated(
    kind: PaperKind,
    plan: dict[str, Any],
    case: dict[str, Any],
    *,
    head: PaperHead = HEAD,
    tooth: int = 0,
    heat: dict[str, Any] | None = None,
) -> bytes:
    """Print a paper of an operation for harmless answers. Raises Closed where the plan gives no ground for it."""
    opening = opening_of(plan, OPERATING[kind], tooth)
    if kind == "chairside-card":
        heat = heat or paced(plan["teeth"][tooth]["number"]).model_dump(mode="json")
    return operating_paper(opening, head=head, case=case, heat=heat)


def sentences(part: Any) -> Iterator[dict[str, Any]]:
    """Every sentence in a stored plan or answer."""
    if isinstance(part, dict):
        if "text" in part:
            yield part
        else:
            for value in part.values():
                yield from sentences(value)
    elif isinstance(part, list):
        for value in part:
            yield from sentences(value)


def case_of(plan: dict[str, Any], **of_tooth: Any) -> dict[str, Any]:
    """Return the case a stored plan was made from, with changes to its first tooth."""
    first, *others = _CASES[plan["input_sha256"]]["teeth"]
    return {**_CASES[plan["input_sha256"]], "teeth": [{**first, **of_tooth}, *others]}


def _with_bridge(case: dict[str, Any]) -> dict[str, Any]:
    """Return the case with a bridge of three units on its tooth, the other abutment without readings."""
    number = case["teeth"][0]["number"]
    onward = -1 if number % 10 > 5 else 1
    return {**case, "bridges": [{"teeth": [number, number + 2 * onward], "pontics": [number + onward]}]}


def route_of(plan: dict[str, Any], name: str) -> dict[str, Any]:
    """Return a route of the plan's first tooth."""
    found: dict[str, Any] = next(route for route in plan["teeth"][0]["routes"] if route["name"] == name)
    return found


def shown(mm: float | None) -> str:
    """One decimal, a true minus, no minus zero: the rule of the papers, written a second time."""
    if mm is None:
        return "–"
    rounded = f"{mm:.1f}"
    return "0.0" if rounded == "-0.0" else rounded.replace("-", "−")


def named(site: dict[str, Any], plan: dict[str, Any]) -> str:
    """The letters of a site, P for palatal in the upper jaw; one that was read at an angle shows its degrees."""
    name = str(site["site"])
    upper = plan["teeth"][0]["number"] < 30
    return f"{name}°" if name.isdigit() else name.replace("L", "P") if upper else name


def route_words(name: str) -> str:
    return text(f"screen.route.name.{name}")
