"""`collum plan` and `collum report`: a case file in, its plan out."""

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Annotated, Literal

import typer

from collum.cli.case_file import read_case
from collum.cli.ending import faulty
from collum.cli.options import AsJson, CaseFile, Draws, Errors, Seed, Tooth
from collum.cli.planned import numbers, planned, planned_case, position_of, settings_of
from collum.cli.written import write_whole
from collum.vocabulary import PaperKind
from collum.wording import text

RouteOption = Literal["without-lengthening", "margin-elevation", "partial-coverage", "soft-tissue", "bone", "extrusion"]


def plan(
    case: CaseFile,
    json: AsJson = False,
    seed: Seed = None,
    draws: Draws = None,
    tooth: Tooth = None,
    route: Annotated[
        RouteOption | None,
        typer.Option("--route", help=text("cli.option.route")),
    ] = None,
    errors: Errors = "text",
) -> None:
    made = planned(read_case(case), seed, settings_of(draws), tooth)
    if json:
        print(made.model_dump_json())
        return
    from collum.cli.plan_text import print_plan
    from collum.plan.lengthening.procedures.registry import PROCEDURES

    print_plan(made, next((procedure.id for procedure in PROCEDURES if procedure.option == route), None))


def report(
    case: CaseFile,
    pdf: Annotated[Path, typer.Option("--pdf", metavar="OUT", help=text("cli.option.pdf"))],
    paper: Annotated[
        PaperKind,
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
    settings = settings_of(draws)
    document = read_case(case)
    of_case = paper == "bridge-sheet"  # all abutments of a bridge stand on its sheet
    made = planned_case(document, seed, settings, None if of_case else tooth)
    if len(made.teeth) > 1 and not of_case:
        faulty("--tooth", "several_teeth", "teeth", teeth=numbers(made.document))
    position = position_of(document, tooth) if of_case else 0

    from collum.app.plans.papers import PaperRefused, loose_paper

    try:
        printed = loose_paper(settings.environment(), document, made, paper, tooth=position, hands=settings.hands())
    except PaperRefused as refused:
        faulty("--paper", "paper_refused", "open_route", value=str(refused))
    write_whole(pdf, printed)


COMMANDS: Mapping[str, Callable[..., None]] = {"plan": plan, "report": report}
