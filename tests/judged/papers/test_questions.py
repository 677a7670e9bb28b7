"""Ten questions for each paper, written before it was drawn: what the print of a shipped case has to answer is on it.

A reader who has never seen the paper answers the questions from the print alone; here it is looked for as words and figures.
"""

import json
import tomllib
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from collum.app.demo import demo_cases
from collum.app.plans.planning import Planner
from collum.case import to_document
from collum.evidence import value
from collum.papers import OPERATING, PaperHead, operating_paper, paper
from collum.wording import placeholders, site_name, template, text
from tests.measuring.openings import opening_of
from tests.papers.conftest import shown
from tests.papers.pages import words_of

ASKED = tomllib.loads(Path(__file__).with_name("questions.toml").read_text(encoding="utf-8"))
HEAD = PaperHead(plan_id="p", made_at="2026-11-30T09:00:00+00:00", result_sha256="0" * 64)
QUESTIONS = [(kind, one["ask"], one["answer"]) for kind, of in ASKED.items() for one in of["questions"]]


@cache
def _made(kind: str) -> tuple[dict[str, Any], str]:
    """Return the plan of the case of a paper, and the words of the paper."""
    case = next(case for case in demo_cases() if case.patient.reference == ASKED[kind]["case"])
    plan = json.loads(Planner(300).plan(case).model_dump_json())
    document = to_document(case)
    if kind in OPERATING:
        return plan, words_of(operating_paper(opening_of(plan, OPERATING[kind]), head=HEAD, case=document))
    return plan, words_of(paper(kind, plan, tooth=0, head=HEAD, case=document))  # type: ignore[arg-type]  # a kind of paper


def _route(plan: dict[str, Any], name: str) -> dict[str, Any]:
    return next(route for route in plan["teeth"][0]["routes"] if route["name"] == name)


def _inside(found: Any, path: str) -> Any:
    for key in path.split("."):
        found = found[key]
    return found


def _expected(kind: str, answer: str) -> str:
    """Return what has to be on the page."""
    plan, how, rest = _made(kind)[0], *answer.split(" ", 1)
    route = _route(plan, ASKED[kind]["route"])
    if how == "site":
        name, field = rest.split()
        return shown(next(site for site in route["sites"] if site["site"] == name)[field])
    if how == "route":
        found = _inside(route, rest)
        return f"{found:.2f}" if "ratio" in rest or "root" in rest else f"{found:.0f}" if "weeks" in rest else shown(found)
    if how == "tooth":
        return str(_inside(plan["teeth"][0], rest))
    if how == "value":
        return f"{value(rest):g}"
    if how == "closed":
        return str(_route(plan, rest)["closed_by"]["reason"]["text"])
    return text(rest) if not placeholders(template(rest)) else template(rest).split("{", 1)[0]


def test_every_paper_has_ten_questions() -> None:
    assert {kind: len(of["questions"]) for kind, of in ASKED.items()} == dict.fromkeys(ASKED, 10)
    assert {"scalpel-card", "flap-sheet", "extrusion-sheet", "colleague-plan"} <= set(ASKED)


@pytest.mark.parametrize(("kind", "ask", "answer"), QUESTIONS, ids=[f"{kind}: {ask}" for kind, ask, _ in QUESTIONS])
def test_the_print_holds_the_answer(kind: str, ask: str, answer: str) -> None:
    expected, page = _expected(kind, answer), _made(kind)[1]
    assert expected and expected in page, ask


def test_the_place_of_a_figure_is_its_row() -> None:
    """A figure that is asked for by site stands in the row of that site, not somewhere on the page."""
    for kind, ask, answer in QUESTIONS:
        if answer.startswith("site "):
            name, figure = answer.split()[1], _expected(kind, answer)
            rows = [row.split() for row in _made(kind)[1].split(f" {name} ")[1:]]
            assert any(figure in [cell.strip("*≈") for cell in row[:9]] for row in rows), (ask, site_name(name, 46))
