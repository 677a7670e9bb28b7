"""`collum bridge`: a case file in, its bridges judged as a whole."""

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Annotated, Any, Literal

import typer

from collum.cli.case_file import read_case
from collum.cli.ending import faulty
from collum.cli.options import AsJson, CaseFile, Draws, Errors, Seed
from collum.cli.planned import planner_of, settings_of
from collum.wording import text

if TYPE_CHECKING:
    from collum.case import Case

_THICKNESS = r"(?:[0-9]{1,2}(?:\.[0-9]{1,2})?|x)"
MaterialName = Literal["metal", "metal_ceramic", "lithium_disilicate", "monolithic_zirconia"]
Height = Annotated[
    float | None, typer.Option("--connector-height", metavar="MM", help=text("cli.option.connector_height"), show_default=False)
]
Width = Annotated[
    float | None, typer.Option("--connector-width", metavar="MM", help=text("cli.option.connector_width"), show_default=False)
]
Tissue = Annotated[
    list[str] | None,
    typer.Option("--tissue", metavar="TOOTH=MM,MM,MM,MM,MM", help=text("cli.option.tissue"), show_default=False),
]
Ridge = Annotated[
    list[str] | None, typer.Option("--ridge", metavar="TOOTH=LOST", help=text("cli.option.ridge"), show_default=False)
]
Room = Annotated[float | None, typer.Option("--room", metavar="MM", help=text("cli.option.room"), show_default=False)]


def bridge(
    case: CaseFile,
    material: Annotated[MaterialName | None, typer.Option("--material", help=text("cli.option.material"))] = None,
    connector_height: Height = None,
    connector_width: Width = None,
    room: Room = None,
    tissue: Tissue = None,
    ridge: Ridge = None,
    json: AsJson = False,
    seed: Seed = None,
    draws: Draws = None,
    errors: Errors = "text",
) -> None:
    given: dict[str, Any] = {
        "material": material,
        "connector_height_mm": connector_height,
        "connector_width_mm": connector_width,
        "room_mm": room,
        "beds": _beds(tissue or [], ridge or []) or None,
    }
    document = read_case(case)
    if not document.bridges:
        faulty("CASE", "no_bridge", "one_bridge")
    document = _with_wishes(document, {key: wish for key, wish in given.items() if wish is not None})

    from collum.app.plans.bridge import bridges_of_plan

    found = bridges_of_plan(document, planner_of(settings_of(draws)).planned(document, seed=seed))
    if json:
        print(found.model_dump_json())
        return
    from collum.cli.bridge_text import print_bridges

    print_bridges(found)


COMMANDS: Mapping[str, Callable[..., None]] = {"bridge": bridge}


def _with_wishes(case: "Case", wishes: Mapping[str, Any]) -> "Case":
    """Return the case with the options over what it records. Raises CaseFaults that name the options."""
    from collum.case import CaseFaults, with_wishes

    try:
        return with_wishes(case, wishes, "")
    except CaseFaults as refused:
        raise CaseFaults(tuple(replace(fault, where=_option(fault.where)) for fault in refused.faults)) from None


def _option(where: str) -> str:
    """Return the option that a key of a bridge came from."""
    if where.startswith("beds"):
        return "--tissue" if ".tissue_mm" in where else "--tissue, --ridge"
    return f"--{where.removesuffix('_mm').replace('_', '-')}"


def _beds(tissue: Sequence[str], ridge: Sequence[str]) -> list[dict[str, Any]]:
    """Return what was typed of the beds, one for each tooth; the last word for a tooth counts."""
    beds: dict[int, dict[str, Any]] = {}
    for tooth, thicknesses in map(_tissue, tissue):
        beds.setdefault(tooth, {"tooth": tooth})["tissue_mm"] = thicknesses
    for tooth, lost in map(_ridge, ridge):
        beds.setdefault(tooth, {"tooth": tooth})["ridge"] = lost
    return list(beds.values())


def _tissue(typed: str) -> tuple[int, dict[str, float]]:
    """Return the tooth and its thicknesses by point; "x" stands for one that could not be measured."""
    from collum.case.bridge_layout import BED_POINTS
    from collum.evidence import get

    match = re.fullmatch(rf"([1-4][1-8])=({_THICKNESS}(?:,{_THICKNESS}){{4}})", typed.replace(" ", ""))
    if match is None:
        most = get("case.range.ridge_tissue_mm").high
        faulty("--tissue", "tissue", "tissue", value=typed[:60], most=round(most))
    read = zip(BED_POINTS, match[2].split(","), strict=True)
    return int(match[1]), {point: float(one) for point, one in read if one != "x"}


def _ridge(typed: str) -> tuple[int, str]:
    """Return the tooth and what its ridge has lost."""
    match = re.fullmatch(r"([1-4][1-8])=(none|width|height|width,height)", typed.replace(" ", "").lower())
    if match is None:
        faulty("--ridge", "ridge", "ridge", value=typed[:60])
    return int(match[1]), "both" if "," in match[2] else match[2]
