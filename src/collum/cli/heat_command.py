"""`collum heat`: a case file in, the round of strokes and its heat out. For planning and teaching; it releases no card."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Annotated

import typer

from collum.cli.case_file import read_case
from collum.cli.ending import faulty
from collum.cli.options import AsJson, CaseFile, Draws, Errors, Seed, Tooth
from collum.cli.planned import planned_case, settings_of
from collum.wording import text

if TYPE_CHECKING:
    from collum.core.heat.pacing_task import HandTimes
    from collum.plan.heat import HeatWishes

_MOST_PASSES = 9
_LONGEST_S = 60  # as far as what a practice may set
_LONGEST_CHANGE_S = 300
Passes = Annotated[
    int | None, typer.Option("--passes", min=1, max=_MOST_PASSES, help=text("cli.option.passes"), show_default=False)
]
Position = Annotated[
    float | None,
    typer.Option("--position", metavar="S", min=0, max=_LONGEST_S, help=text("cli.option.position"), show_default=False),
]
Wipe = Annotated[
    float | None,
    typer.Option("--wipe", metavar="S", min=0, max=_LONGEST_S, help=text("cli.option.wipe"), show_default=False),
]
Change = Annotated[
    float | None,
    typer.Option("--change", metavar="S", min=0, max=_LONGEST_CHANGE_S, help=text("cli.option.change"), show_default=False),
]
Speed = Annotated[float | None, typer.Option("--speed", metavar="MM_S", help=text("cli.option.speed"), show_default=False)]


def heat(
    case: CaseFile,
    json: AsJson = False,
    passes: Passes = None,
    speed: Speed = None,
    loop: Annotated[bool, typer.Option("--loop", help=text("cli.option.loop"))] = False,
    position: Position = None,
    wipe: Wipe = None,
    change: Change = None,
    seed: Seed = None,
    draws: Draws = None,
    tooth: Tooth = None,
    errors: Errors = "text",
) -> None:
    settings = settings_of(draws)
    asked = {"position_s": position, "wipe_s": wipe, "change_s": change}
    hands = replace(settings.hands(), **{name: time_s for name, time_s in asked.items() if time_s is not None})
    wishes = _wishes(passes, speed, loop, hands)
    document = read_case(case)

    from collum.app.plans.heat import heat_of_plan

    found = heat_of_plan(planned_case(document, seed, settings, tooth), wishes)
    if json:
        print(found.model_dump_json())
        return
    from collum.cli.heat_text import print_heat

    print_heat(found)


COMMANDS: Mapping[str, Callable[..., None]] = {"heat": heat}


def _wishes(passes: int | None, speed: float | None, loop: bool, hands: "HandTimes") -> "HeatWishes":
    from collum.evidence import get
    from collum.plan.heat import HeatWishes

    allowed = get("heat.speed.reference_mm_s")
    if speed is not None and not allowed.low <= speed <= allowed.high:
        faulty("--speed", "speed", "speed", value=f"{speed:g}", low=f"{allowed.low:g}", high=f"{allowed.high:g}")
    return HeatWishes(passes=passes, speed_mm_s=speed, loop=loop, hands=hands)
