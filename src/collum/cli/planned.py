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
    made = plan_of(case, seed, settings)
    if not made.teeth:
        faulty("CASE", "no_tooth", "one_tooth")
    return made


def plan_of(case: "Case", seed: int | None, settings: "Settings") -> "PlanDocument":
    """Return the plan of a case; what a route fails by is noted in the log."""
    from collum.app.plans.planning import Planner

    def note(error: Exception) -> str:
        from collum.app.logs import note_fault

        return note_fault(settings.environment(), error)

    return Planner(settings.draws, note).plan(case, seed=seed)


def of_tooth(made: "PlanDocument", asked: str | None) -> "PlanDocument":
    """Return the plan with the asked tooth alone, by its ISO number or as "20 universal"; a fault where it is not planned."""
    if asked is None:
        return made
    found = made.of_tooth(iso_number(asked) or 0)
    if not found.teeth:
        faulty("--tooth", "not_planned", "teeth", value=asked[:20], teeth=numbers(made))
    return found


def iso_number(asked: str) -> int | None:
    """Return the ISO number that was typed, by itself or as "20 universal"; None where it is no number of a tooth."""
    from collum.core.tooth import ToothNumberError, from_universal

    match = re.fullmatch(r"([0-9]{1,2})( iso| universal)?", asked.strip().lower())
    if match is None:
        return None
    try:
        return from_universal(int(match[1])) if match[2] == " universal" else int(match[1])
    except ToothNumberError:
        return None


def numbers(made: "PlanDocument") -> str:
    """Return the ISO numbers of the planned teeth, for a fault."""
    return ", ".join(str(tooth.number) for tooth in made.teeth)
