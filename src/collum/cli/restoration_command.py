"""`collum restoration`: a case file in, whether its restorations will hold out."""

import os
import re
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

from collum.cli.case_file import read_case
from collum.cli.ending import faulty
from collum.cli.options import AsJson, CaseFile, Draws, Errors, Seed, Tooth

if TYPE_CHECKING:
    from collum.plan.document import PlanDocument


def restoration(
    case: CaseFile,
    json: AsJson = False,
    seed: Seed = None,
    draws: Draws = None,
    tooth: Tooth = None,
    errors: Errors = "text",
) -> None:
    document = read_case(case)

    from collum.app.planning import Planner
    from collum.app.restoration import restorations_of_plan
    from collum.app.settings import read_settings

    plan = Planner(read_settings({"draws": draws}, os.environ).draws).plan(document, seed=seed)
    if not plan.teeth:
        faulty("CASE", "no_tooth", "one_tooth")
    found = restorations_of_plan(document, _of_tooth(plan, tooth))
    if json:
        print(found.model_dump_json())
        return
    from collum.cli.restoration_text import print_restorations

    print_restorations(found)


COMMANDS: Mapping[str, Callable[..., None]] = {"restoration": restoration}


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
