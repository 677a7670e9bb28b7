"""`collum plan` and `collum report`: a case file in, its plan out."""

import os
import re
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from collum.cli.case_file import read_case
from collum.cli.ending import faulty
from collum.cli.options import AsJson, CaseFile, Draws, Errors, Seed, Tooth
from collum.cli.written import write_whole
from collum.wording import text

if TYPE_CHECKING:
    from collum.app.settings import Settings
    from collum.case import Case
    from collum.plan.document import PlanDocument, RouteName


def plan(
    case: CaseFile,
    json: AsJson = False,
    seed: Seed = None,
    draws: Draws = None,
    tooth: Tooth = None,
    route: Annotated[
        Literal["without-lengthening", "soft-tissue", "bone", "extrusion"] | None,
        typer.Option("--route", help=text("cli.option.route")),
    ] = None,
    errors: Errors = "text",
) -> None:
    made = _of_tooth(_planned(read_case(case), seed, _settings(draws)), tooth)
    if json:
        print(made.model_dump_json())
        return
    from collum.cli.plan_text import print_plan

    print_plan(made, None if route is None else _ROUTES[route])


def report(
    case: CaseFile,
    pdf: Annotated[Path, typer.Option("--pdf", metavar="OUT", help=text("cli.option.pdf"))],
    paper: Annotated[
        Literal["chairside-card", "plan-sheet", "findings-sheet", "flap-sheet", "extrusion-sheet", "restoration-sheet"],
        typer.Option("--paper", help=text("cli.option.paper")),
    ] = "plan-sheet",
    force: Annotated[bool, typer.Option("--force", help=text("cli.option.force"))] = False,
    seed: Seed = None,
    draws: Draws = None,
    tooth: Tooth = None,
    errors: Errors = "text",
) -> None:
    if pdf.exists() and not force:
        faulty("--pdf", "exists", "new_name")
    settings = _settings(draws)
    document = read_case(case)
    made = _of_tooth(_planned(document, seed, settings), tooth)
    if len(made.teeth) > 1:
        faulty("--tooth", "several_teeth", "teeth", teeth=_numbers(made))

    from collum.app.papers import PaperRefused, loose_paper

    try:
        printed = loose_paper(settings.environment(), document, made, paper, tooth=0)
    except PaperRefused as refused:
        faulty("--paper", "paper_refused", "open_route", value=str(refused))
    write_whole(pdf, printed)


_ROUTES: Mapping[str, "RouteName"] = {
    "without-lengthening": "restore without lengthening",
    "soft-tissue": "soft tissue only",
    "bone": "soft tissue and bone",
    "extrusion": "extrusion first",
}

COMMANDS: Mapping[str, Callable[..., None]] = {"plan": plan, "report": report}


def _settings(draws: int | None) -> "Settings":
    from collum.app.settings import read_settings

    return read_settings({"draws": draws}, os.environ)


def _planned(case: "Case", seed: int | None, settings: "Settings") -> "PlanDocument":
    from collum.app.planning import Planner

    made = Planner(settings.draws).plan(case, seed=seed)
    if not made.teeth:
        faulty("CASE", "no_tooth", "one_tooth")
    return made


def _of_tooth(made: "PlanDocument", asked: str | None) -> "PlanDocument":
    """Return the plan with the asked tooth alone."""
    if asked is None:
        return made
    number = _iso_number(asked)
    found = [tooth for tooth in made.teeth if tooth.number == number]
    if not found:
        faulty("--tooth", "not_planned", "teeth", value=asked[:20], teeth=_numbers(made))
    return made.model_copy(update={"teeth": found})


def _iso_number(asked: str) -> int | None:
    from collum.core.tooth import ToothNumberError, from_universal

    match = re.fullmatch(r"([0-9]{1,2})( iso| universal)?", asked.strip().lower())
    if match is None:
        return None
    digits = int(match[1])
    if match[2] != " universal":
        return digits
    try:
        return from_universal(digits)
    except ToothNumberError:
        return None


def _numbers(made: "PlanDocument") -> str:
    return ", ".join(str(tooth.number) for tooth in made.teeth)
