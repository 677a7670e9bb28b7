"""`collum heat`: a case file in, the round of strokes and its heat out. For planning and teaching; it releases no card."""

import os
import re
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Annotated

import typer

from collum.cli.case_file import read_case
from collum.cli.ending import faulty
from collum.cli.options import AsJson, CaseFile, Draws, Errors, Seed, Tooth
from collum.wording import text

if TYPE_CHECKING:
    from collum.plan.document import PlanDocument
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

    from collum.app.heat import heat_of_plan
    from collum.app.planning import Planner
    from collum.app.settings import read_settings

    plan = Planner(read_settings({"draws": draws}, os.environ).draws).plan(document, seed=seed)
    if not plan.teeth:
        faulty("CASE", "no_tooth", "one_tooth")
    found = heat_of_plan(document, _of_tooth(plan, tooth), wishes)
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


def _of_tooth(plan: "PlanDocument", asked: str | None) -> "PlanDocument":
    """Return the plan with the asked tooth alone, by its ISO number or as "20 universal"."""
    if asked is None:
        return plan
    match = re.fullmatch(r"([0-9]{1,2})( iso| universal)?", asked.strip().lower())
    by = "universal" if match is not None and match[2] == " universal" else "number"
    found = [tooth for tooth in plan.teeth if match is not None and getattr(tooth, by) == int(match[1])]
    if not found:
        numbers = ", ".join(str(tooth.number) for tooth in plan.teeth)
        faulty("--tooth", "not_planned", "teeth", value=asked[:20], teeth=numbers)
    return plan.model_copy(update={"teeth": found})
