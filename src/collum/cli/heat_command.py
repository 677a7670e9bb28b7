"""`collum heat`: a case file in, the round of strokes and its heat out. For planning and teaching; it releases no card."""

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Annotated

import typer

from collum.cli.case_file import read_case
from collum.cli.ending import faulty
from collum.cli.options import AsJson, CaseFile, Draws, Errors, Seed, Tooth
from collum.cli.planned import planned_case, settings_of
from collum.wording import text

if TYPE_CHECKING:
    from collum.plan.heat import HeatWishes

_MOST_PASSES = 9
Passes = Annotated[
    int | None, typer.Option("--passes", min=1, max=_MOST_PASSES, help=text("cli.option.passes"), show_default=False)
]
Speed = Annotated[float | None, typer.Option("--speed", metavar="MM_S", help=text("cli.option.speed"), show_default=False)]


def heat(
    case: CaseFile,
    json: AsJson = False,
    passes: Passes = None,
    speed: Speed = None,
    loop: Annotated[bool, typer.Option("--loop", help=text("cli.option.loop"))] = False,
    seed: Seed = None,
    draws: Draws = None,
    tooth: Tooth = None,
    errors: Errors = "text",
) -> None:
    wishes = _wishes(passes, speed, loop)
    document = read_case(case)

    from collum.app.plans.heat import heat_of_plan

    found = heat_of_plan(planned_case(document, seed, settings_of(draws), tooth), wishes)
    if json:
        print(found.model_dump_json())
        return
    from collum.cli.heat_text import print_heat

    print_heat(found)


COMMANDS: Mapping[str, Callable[..., None]] = {"heat": heat}


def _wishes(passes: int | None, speed: float | None, loop: bool) -> "HeatWishes":
    from collum.evidence import get
    from collum.plan.heat import HeatWishes

    allowed = get("heat.speed.reference_mm_s")
    if speed is not None and not allowed.low <= speed <= allowed.high:
        faulty("--speed", "speed", "speed", value=f"{speed:g}", low=f"{allowed.low:g}", high=f"{allowed.high:g}")
    return HeatWishes(passes=passes, speed_mm_s=speed, loop=loop)
