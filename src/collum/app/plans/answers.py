"""What a sheet shows beside a plan: restoration or bridge, worked out from the plan of one tooth or of all."""

from collections.abc import Callable

from collum.app.plans.bridge import bridge_answer
from collum.app.plans.planning import PlannedCase
from collum.app.plans.restoration import restoration_answer
from collum.case import Case
from collum.papers import Answer, PaperKind
from collum.papers.bridge import bridge_shown

ANSWERED: tuple[PaperKind, ...] = ("restoration-sheet", "bridge-sheet")


def answer_on(kind: PaperKind, case: Case, number: int, planned: Callable[[int | None], PlannedCase]) -> Answer | None:
    """Return what a sheet of a tooth shows, None for a paper of the plan alone. Raises PaperRefused where there is no bridge.

    `planned` gives the plan of the case, with the tooth of a number alone where one is named.
    """
    if kind == "restoration-sheet":
        return restoration_answer(case, planned(number).teeth[0])
    if kind == "bridge-sheet":
        return bridge_answer(case, bridge_shown(case, number), planned(None))
    return None
