"""What the commands that need a plan share: settings, the plan of a case, and one tooth of it. Heavy parts load when called."""

import re
from typing import TYPE_CHECKING

from collum.cli.ending import faulty
from collum.cli.in_force import settings_in_force

if TYPE_CHECKING:
    from collum.app.plans.planning import PlannedCase, Planner
    from collum.app.settings import Settings
    from collum.case import Case
    from collum.wire.plan.document import PlanDocument


def settings_of(draws: int | None) -> "Settings":
    """Return the settings with the number of draws asked for."""
    return settings_in_force({"draws": draws})


def planned(case: "Case", seed: int | None, settings: "Settings", asked: str | None) -> "PlanDocument":
    """Return the plan of a case, with the asked tooth alone; a fault if no tooth, or not that one, is to be restored."""
    made = planner_of(settings).plan(case, seed=seed)
    only = _number(case, asked)
    return made if only is None else made.of_tooth(only)


def planned_case(case: "Case", seed: int | None, settings: "Settings", asked: str | None) -> "PlannedCase":
    """Return the same with what restoration, bridge and heat take of it."""
    return planner_of(settings).planned(case, only=_number(case, asked), seed=seed)


def position_of(case: "Case", asked: str | None) -> int:
    """Return where the asked tooth is among those of the plan of a case; the first by default."""
    number = _number(case, asked)
    planned = [tooth.number for tooth in case.teeth if tooth.role != "neighbour"]
    return 0 if number is None else planned.index(number)


def planner_of(settings: "Settings") -> "Planner":
    """Return a planner; what a route fails by is noted in the log."""
    from collum.app.plans.planning import Planner

    def note(error: Exception) -> str:
        from collum.app.logs import note_fault

        return note_fault(settings.environment(), error)

    return Planner(settings.draws, note)


def _number(case: "Case", asked: str | None) -> int | None:
    """Return the number of the asked tooth, by its ISO number or as "20 universal"; a fault where it is not planned."""
    planned = [tooth.number for tooth in case.teeth if tooth.role != "neighbour"]
    if not planned:
        faulty("CASE", "no_tooth", "one_tooth")
    number = None if asked is None else iso_number(asked) or 0
    if asked is not None and number not in planned:
        faulty("--tooth", "not_planned", "teeth", value=asked[:20], teeth=", ".join(map(str, planned)))
    return number


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
