"""What a sheet shows beside a plan: restoration or bridge, worked out from the plan of one tooth or of all."""

from collections.abc import Callable, Mapping

from collum.app.plans.bridge import bridges_of_plan
from collum.app.plans.planning import PlannedCase
from collum.app.plans.restoration import restorations_of_plan
from collum.case import Case
from collum.papers import Answer, PaperKind
from collum.papers.bridge import bridge_shown
from collum.records.answers import AnswerKind
from collum.wire.bridge.document import BridgesDocument
from collum.wire.restoration.document import RestorationsDocument

AnswerDocument = RestorationsDocument | BridgesDocument

ANSWERED: Mapping[PaperKind, AnswerKind] = {"restoration-sheet": "restoration", "bridge-sheet": "bridge"}
FORMS: Mapping[AnswerKind, type[RestorationsDocument] | type[BridgesDocument]] = {
    "restoration": RestorationsDocument,
    "bridge": BridgesDocument,
}


def answer_on(kind: PaperKind, case: Case, number: int, planned: Callable[[int | None], PlannedCase]) -> Answer | None:
    """Return what a sheet of a tooth shows, None for a paper of the plan alone. Raises PaperRefused where there is no bridge.

    `planned` gives the plan of the case, with the tooth of a number alone where one is named.
    """
    if kind not in ANSWERED:
        return None
    if ANSWERED[kind] == "bridge":
        position = bridge_shown([(*one.teeth, *one.pontics) for one in case.bridges], number)
        return Answer(document=bridges_of_plan(case, planned(None)), position=position)
    return Answer(document=restorations_of_plan(case, planned(number)), position=0)


def whole_answer(kind: AnswerKind, case: Case, made: PlannedCase) -> AnswerDocument:
    """Return the answer on every tooth or bridge of a planned case."""
    return bridges_of_plan(case, made) if kind == "bridge" else restorations_of_plan(case, made)
