"""Use case: will the restorations of a case hold, from the case and the plans of its teeth."""

from collections.abc import Iterator

import collum
from collum.app.plans.planning import PlannedCase
from collum.app.speaking import words
from collum.case import Case
from collum.evidence import all_constants
from collum.plan import PlannedTooth
from collum.plan.restoration import restoration_of_tooth
from collum.wire.of_plan import of_plan
from collum.wire.restoration.document import RestorationsDocument, ToothRestorationDocument
from collum.wire.restoration.to_document import limits, tooth_restoration_document
from collum.wire.sources import constant_document
from collum.wire.speaking import speaker

_CONSTANTS = ("restoration.", "retention.", "ferrule.", "post.", "pin.", "support.", "preparation.")


def restorations_of_plan(case: Case, made: PlannedCase) -> RestorationsDocument:
    """Return the answer for every tooth of a plan and the case it was made of."""
    speak = speaker(words)
    answered = [restoration_answer(case, planned) for planned in made.teeth]
    named = {key for tooth in answered for key in _evidence(tooth)}
    return RestorationsDocument(
        format="collum-restoration/2",
        program_version=collum.__version__,
        units={"length": "mm", "angle": "deg", "area": "mm2", "volume": "mm3", "force": "N", "strength": "kN"},
        teeth=answered,
        limits=[speak(sentence) for sentence in limits()],
        constants=[constant_document(c) for c in all_constants() if c.key.startswith(_CONSTANTS) or c.key in named],
        **of_plan(made.document),
    )


def restoration_answer(case: Case, planned: PlannedTooth) -> ToothRestorationDocument:
    """Return the answer for one tooth."""
    return tooth_restoration_document(restoration_of_tooth(planned, case.patient), words)


def _evidence(tooth: ToothRestorationDocument) -> Iterator[str]:
    """Give the keys that stand beside the answers of a tooth."""
    for route in tooth.routes:
        for part in route.parts:
            yield from part.evidence
    for support in tooth.support:
        yield from support.evidence
    for ground in tooth.old_crown.grounds if tooth.old_crown is not None else ():
        yield from ground.evidence
