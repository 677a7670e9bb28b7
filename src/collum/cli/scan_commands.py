"""`collum scan`: files of a scanner in, what they measure out."""

import shutil
import sys
import tempfile
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import IO, TYPE_CHECKING, Annotated, Literal

import typer

from collum.cli.case_file import read_case
from collum.cli.ending import Faulty, faulty
from collum.cli.options import AsJson, Draws, Errors, Seed
from collum.cli.planned import iso_number, planned_case, settings_of
from collum.wording import text

if TYPE_CHECKING:
    from collum.plan.preparation import Wanted
    from collum.readers import Point
    from collum.wire.preparation.document import PreparationDocument

Mesh = Annotated[str, typer.Argument(metavar="FILE", help=text("cli.option.mesh"), show_default=False)]
Axis = Annotated[str | None, typer.Option("--axis", metavar="X,Y,Z", help=text("cli.option.axis"), show_default=False)]
Facial = Annotated[str | None, typer.Option("--facial", metavar="X,Y,Z", help=text("cli.option.facial"), show_default=False)]
UnitName = Literal["mm", "um", "cm", "in"]
Unit = Annotated[UnitName, typer.Option("--unit", help=text("cli.option.unit"))]
FinishLine = Annotated[
    str | None, typer.Option("--finish-line", metavar="FILE", help=text("cli.option.finish_line"), show_default=False)
]
ScanTooth = Annotated[
    str | None, typer.Option("--tooth", metavar="NUMBER", help=text("cli.option.scan_tooth"), show_default=False)
]
ScanCase = Annotated[str | None, typer.Option("--case", metavar="CASE", help=text("cli.option.scan_case"), show_default=False)]


def preparation(
    file: Mesh,
    axis: Axis = None,
    facial: Facial = None,
    unit: Unit = "mm",
    finish_line: FinishLine = None,
    case: ScanCase = None,
    tooth: ScanTooth = None,
    json: AsJson = False,
    seed: Seed = None,
    draws: Draws = None,
    errors: Errors = "text",
) -> None:
    from collum.app.plans.preparation import ScanRefused, judge_file

    if case is not None and tooth is None:
        faulty("--tooth", "several_teeth", "tooth_number")
    try:
        wanted = _told(unit, axis, facial, tooth, finish_line)
        with _opened(file) as stream:
            settings_of(draws)
            found = judge_file(stream, wanted)
    except ScanRefused as refused:
        raise Faulty(refused.fault) from None
    if case is not None:
        found = _beside_plan(found, case, tooth, seed, draws)
    if json:
        print(found.model_dump_json())
        return
    from collum.cli.preparation_text import print_preparation

    print_preparation(found)


COMMANDS: Mapping[str, Callable[..., None]] = {"preparation": preparation}


def _beside_plan(
    found: "PreparationDocument", case: str, tooth: str | None, seed: int | None, draws: int | None
) -> "PreparationDocument":
    from collum.app.plans.preparation import beside_plan

    document = read_case(case)
    return beside_plan(found, document, planned_case(document, seed, settings_of(draws), tooth))


def _told(unit: UnitName, axis: str | None, facial: str | None, tooth: str | None, line: str | None) -> "Wanted":
    from collum.app.plans.preparation import direction, permanent_tooth
    from collum.plan.preparation import Wanted

    return Wanted(
        unit=unit,
        path=None if axis is None else direction("--axis", axis),
        facial=None if facial is None else direction("--facial", facial),
        tooth=None if tooth is None else permanent_tooth("--tooth", iso_number(tooth) or 0),
        finish_line=None if line is None else _points(line),
    )


def _points(name: str) -> "tuple[Point, ...]":
    from collum.app.plans.preparation import scan_fault
    from collum.readers import MOST_POINTS_BYTES, MeshFault, read_points

    try:
        with Path(name).open("rb") as file:
            return read_points(file.read(MOST_POINTS_BYTES + 1))
    except MeshFault as fault:
        raise Faulty(scan_fault(fault.key, f"--finish-line: {fault.where}", fault.parameters)) from None
    except (OSError, ValueError):
        faulty("--finish-line", "no_file", "mesh")


@contextmanager
def _opened(name: str) -> Iterator[IO[bytes]]:
    """Give the file, or the standard input as a file of our own that nobody else can open."""
    if name == "-":
        with tempfile.TemporaryFile() as copy:
            shutil.copyfileobj(sys.stdin.buffer, copy)
            copy.seek(0)
            yield copy
        return
    try:
        file = Path(name).open("rb")  # noqa: SIM115  # closed below; only opening may fail as a fault of the user
    except (OSError, ValueError):
        faulty("FILE", "no_file", "mesh")
    with file:
        yield file
