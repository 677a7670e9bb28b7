"""`collum bridge`: a case file in, its bridges judged as a whole."""

import math
import os
import re
from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from collum.cli.case_file import read_case
from collum.cli.ending import faulty
from collum.cli.options import AsJson, CaseFile, Draws, Errors, Seed
from collum.wording import text

if TYPE_CHECKING:
    from collum.core.restoration.pontic_bed import RidgeClass
    from collum.plan.bridge import BridgeWishes

_MOST_MM = 20
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
    material: Annotated[MaterialName, typer.Option("--material", help=text("cli.option.material"))] = "metal_ceramic",
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
    wishes = _wishes(material, connector_height, connector_width, room, tissue or [], ridge or [])
    document = read_case(case)
    if not document.bridges:
        faulty("CASE", "no_bridge", "one_bridge")

    from collum.app.bridge import bridges_of_plan
    from collum.app.planning import Planner
    from collum.app.settings import read_settings

    plan = Planner(read_settings({"draws": draws}, os.environ).draws).plan(document, seed=seed)
    found = bridges_of_plan(document, plan, wishes)
    if json:
        print(found.model_dump_json())
        return
    from collum.cli.bridge_text import print_bridges

    print_bridges(found)


COMMANDS: Mapping[str, Callable[..., None]] = {"bridge": bridge}


def _wishes(
    material: MaterialName,
    height: float | None,
    width: float | None,
    room: float | None,
    tissue: Sequence[str],
    ridge: Sequence[str],
) -> "BridgeWishes":
    for option, found in (("--connector-height", height), ("--connector-width", width), ("--room", room)):
        least_allowed = found is None or (found >= 0 if option == "--room" else found > 0)
        if found is not None and not (least_allowed and found <= _MOST_MM):
            faulty(option, "size", "size", value=f"{found:g}", most=_MOST_MM)
    from collum.plan.bridge import BridgeWishes

    return BridgeWishes(
        material=material,
        connector_height_mm=height,
        connector_width_mm=width,
        room_mm=room,
        tissue_mm=dict(_tissue(one) for one in tissue),
        ridges=dict(_ridge(one) for one in ridge),
    )


def _tissue(typed: str) -> tuple[int, tuple[float, ...]]:
    """Return the tooth and its five thicknesses; "x" stands for one that could not be measured."""
    match = re.fullmatch(rf"([1-4][1-8])=({_THICKNESS}(?:,{_THICKNESS}){{4}})", typed.replace(" ", ""))
    found = tuple(math.nan if one == "x" else float(one) for one in match[2].split(",")) if match else ()
    if match is None or any(one > _MOST_MM for one in found):
        faulty("--tissue", "tissue", "tissue", value=typed[:60], most=_MOST_MM)
    return int(match[1]), found


def _ridge(typed: str) -> tuple[int, "RidgeClass"]:
    """Return the tooth and the class of its ridge from what it lost: width, height, both or none."""
    from collum.core.restoration.pontic_bed import ridge_class

    match = re.fullmatch(r"([1-4][1-8])=(none|width|height|width,height)", typed.replace(" ", "").lower())
    if match is None:
        faulty("--ridge", "ridge", "ridge", value=typed[:60])
    return int(match[1]), ridge_class("width" in match[2], "height" in match[2])
