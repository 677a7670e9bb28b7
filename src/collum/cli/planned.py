"""What the commands that need a plan share: settings, the plan of a case, and one tooth of it. Heavy parts load when called."""

import os
import re
from typing import TYPE_CHECKING

from collum.cli.ending import faulty

if TYPE_CHECKING:
    from collum.app.settings import Settings
    from collum.case import Case
    from collum.plan.document import PlanDocument


def settings_of(draws: int | None) -> "Settings":
    """Return the settings with the number of draws asked for."""
    from collum.app.settings import read_settings

    return read_settings({"draws": draws}, os.environ)


def planned(case: "Case", seed: int | None, settings: "Settings") -> "PlanDocument":
    """Return the plan of a case; a fault where no tooth of it is to be restored."""
    from collum.app.planning import Planner

    made = Planner(settings.draws).plan(case, seed=seed)
    if not made.teeth:
        faulty("CASE", "no_tooth", "one_tooth")
    return made


def of_tooth(made: "PlanDocument", asked: str | None) -> "PlanDocument":
    """Return the plan with the asked tooth alone, by its ISO number or as "20 universal"; a fault where it is not planned."""
    if asked is None:
        return made
    match = re.fullmatch(r"([0-9]{1,2})( iso| universal)?", asked.strip().lower())
    by = "universal" if match is not None and match[2] == " universal" else "number"
    found = [tooth for tooth in made.teeth if match is not None and getattr(tooth, by) == int(match[1])]
    if not found:
        faulty("--tooth", "not_planned", "teeth", value=asked[:20], teeth=numbers(made))
    return made.model_copy(update={"teeth": found})


def numbers(made: "PlanDocument") -> str:
    """Return the ISO numbers of the planned teeth, for a fault."""
    return ", ".join(str(tooth.number) for tooth in made.teeth)
