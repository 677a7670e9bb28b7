"""Arguments and options that several commands share."""

from pathlib import Path
from typing import Annotated, Literal

import typer

from collum.cli.ending import print_faults_as, remember_data
from collum.wording import text

CaseFile = Annotated[str, typer.Argument(metavar="CASE", help=text("cli.option.case"), show_default=False)]
AsJson = Annotated[bool, typer.Option("--json", help=text("cli.option.json"))]
Tooth = Annotated[str | None, typer.Option("--tooth", metavar="NUMBER", help=text("cli.option.tooth"), show_default=False)]
Seed = Annotated[int | None, typer.Option("--seed", min=0, max=2**53 - 1, help=text("cli.option.seed"), show_default=False)]
Draws = Annotated[int | None, typer.Option("--draws", help=text("cli.option.draws"), show_default=False)]
Data = Annotated[
    Path | None,
    typer.Option("--data", metavar="DIR", help=text("cli.option.data"), show_default=False, callback=remember_data),
]
Port = Annotated[int | None, typer.Option("--port", help=text("cli.option.port"), show_default=False)]
Errors = Annotated[
    Literal["text", "json"], typer.Option("--errors", help=text("cli.option.errors"), callback=print_faults_as, is_eager=True)
]
