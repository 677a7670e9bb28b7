"""A round of three places, made by hand: what a tooth's heat and pacing look like, without the seconds they take to compute."""

import collum
from collum.app.plans.planning import PlannedCase
from collum.plan.heat import HeatWishes
from collum.wire.form import SentenceDocument
from collum.wire.heat.document import HeatDocument, ToothHeatDocument

STROKE_S = 0.8
MOVE_S = 2.4  # three places a turn: each rests its 8 s


def said(text: str) -> SentenceDocument:
    return SentenceDocument(key="heat.no_card", parameters={}, text=text)


def paced(number: int, *, passes: int = 1, places: int = 3) -> ToothHeatDocument:
    """A round over `places`, one after another, every one `passes` times; without places no round."""
    strokes = [
        {"sector": i % places, "number": i // places + 1, "start_s": i * (STROKE_S + MOVE_S), "wait_s": 0.0}
        for i in range(passes * places)
    ]
    sectors = [
        {
            "number": i,
            "from_deg": i * 120.0,
            "to_deg": i * 120.0 + 100,
            "centre_deg": i * 120.0 + 50,
            "length_mm": 5.6,
            "stroke_s": STROKE_S,
            "passes": passes,
            "form": "straight wire",
            "rest_s": 8.0,
            "rest_repeat_s": 10.0,
            "neighbours": [],
            "tissue_over_bone_mm": 3.0,
            "remarks": [],
        }
        for i in range(places)
    ]
    around = {
        "strokes": [{**stroke, "end_s": float(str(stroke["start_s"])) + STROKE_S} for stroke in strokes],
        "duration_s": len(strokes) * (STROKE_S + MOVE_S) - MOVE_S,
        "waiting_s": 0.0,
        "neighbours_apart_s": None,
        "organs": [],
    }
    hand = {"speed_mm_s": 7.0, "move_s": MOVE_S, "neighbour_s": 2.0, "longest_wait_s": 30.0, "tolerance_s": 0.2}
    return ToothHeatDocument.model_validate(
        {
            "number": number,
            "universal": 1,
            "name": said("a tooth"),
            "outcome": "paced" if places else "closed",
            "passes_asked": passes,
            "answer": [said("made by hand")],
            "sectors": sectors,
            "kept_out": [],
            "hand": hand,
            "round": around if places else None,
            "by_passes": [],
            "reminders": [],
        }
    )


def heat_by_hand(made: PlannedCase, wishes: HeatWishes) -> HeatDocument:
    """Stands in for the real use case; 8 passes stand for a tooth without a round."""
    passes, plan = wishes.passes or 1, made.document
    return HeatDocument(
        format="collum-heat/1",
        program_version=collum.__version__,
        units={"length": "mm", "angle": "deg", "time": "s"},
        case_reference=plan.case_reference,
        invented=plan.invented,
        teeth=[paced(tooth.number, passes=passes, places=0 if passes == 8 else 3) for tooth in plan.teeth],
        assumptions=[],
        no_card=said("no card"),
        safety_cleared=plan.safety_cleared,
        safety_reason=plan.safety_reason,
        constants=[],
        seed=plan.seed,
        draws=plan.draws,
        input_sha256=plan.input_sha256,
    )
