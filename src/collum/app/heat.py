"""Use case: heat and pacing of a case from its plan, and where a round at the chair stands."""

from collections.abc import Sequence
from datetime import datetime

import collum
from collum.app.speaking import words
from collum.case import Case
from collum.evidence import all_constants
from collum.plan import constant_document
from collum.plan.document import PlanDocument
from collum.plan.heat import (
    HeatDocument,
    HeatWishes,
    RoundEventDocument,
    RoundStateDocument,
    ToothHeatDocument,
    assumptions,
    heat_of_tooth,
    round_now,
    tooth_heat_document,
)
from collum.plan.safety import screen
from collum.plan.sentence import say
from collum.plan.speaking import speaker

_CONSTANTS = ("heat.", "pacing.")


def heat_of_plan(case: Case, plan: PlanDocument, wishes: HeatWishes) -> HeatDocument:
    """Return heat and pacing of every tooth of a plan, from the plan as it stands and the case it was made of."""
    speak = speaker(words)
    teeth = {tooth.number: tooth for tooth in case.teeth if tooth.role != "neighbour"}
    return HeatDocument(
        format="collum-heat/1",
        program_version=collum.__version__,
        units={"length": "mm", "angle": "deg", "time": "s"},
        case_reference=plan.case_reference,
        invented=plan.invented,
        teeth=[
            tooth_heat_document(teeth[planned.number], planned, heat_of_tooth(teeth[planned.number], planned, wishes), words)
            for planned in plan.teeth
        ],
        assumptions=[speak(sentence) for sentence in assumptions()],
        no_card=speak(say("heat.no_card")),
        safety_cleared=plan.safety_cleared,
        safety_reason=plan.safety_reason,
        constants=[constant_document(c) for c in all_constants() if c.key.startswith(_CONSTANTS)],
        seed=plan.seed,
        draws=plan.draws,
        input_sha256=plan.input_sha256,
    )


def round_at_the_chair(
    case: Case,
    heat: ToothHeatDocument,
    log: Sequence[RoundEventDocument],
    *,
    now_s: float,
    now: datetime,
    newest_entry: datetime | None = None,
) -> RoundStateDocument:
    """Return where the round stands. `now_s`: an instant of the log's own clock; `now`: the moment, for the safety answers.

    Raises GateClosed where they do not clear the tooth, ValueError where no round is planned or the log cannot be.
    """
    return round_now(heat, screen(case, now=now, newest_entry=newest_entry), log, now_s, words)
