"""A scanned preparation beside what the plan of its tooth took for granted."""

from collum.plan.sentence import say
from collum.wire.preparation.document import BesidePlanDocument, PreparationDocument
from collum.wire.restoration.document import ToothRestorationDocument
from collum.wire.speaking import Words, speaker


def compared(
    found: PreparationDocument, case_reference: str, planned: ToothRestorationDocument, words: Words
) -> PreparationDocument:
    """Return the answer with the comparison; as it is where the plan of the tooth has no preparation on a first route."""
    speak = speaker(words, planned.number)
    route = next((one for one in planned.routes if one.stump is not None), None)
    if route is None or route.stump is None:
        return found
    stump = route.stump
    lower = _shown(stump.height_mean_mm) - _shown(found.height_mean_mm)
    steeper = _shown(found.convergence_mean_deg) - _shown(route.convergence_deg)
    said = [
        say(
            "preparation.beside.lower" if lower > 0 else "preparation.beside.higher",
            planned_mm=stump.height_mean_mm,
            measured_mm=found.height_mean_mm,
            apart_mm=abs(lower),
        ),
        say(
            "preparation.beside.wider" if steeper > 0 else "preparation.beside.narrower",
            planned_deg=route.convergence_deg,
            measured_deg=found.convergence_mean_deg,
            apart_deg=abs(steeper),
        ),
        say(f"preparation.beside.convergence_{route.convergence_from}"),
    ]
    beside = BesidePlanDocument(
        case_reference=case_reference,
        route=route.route,
        planned_height_mm=stump.height_mean_mm,
        planned_least_mm=stump.height_least_mm,
        planned_convergence_deg=route.convergence_deg,
        said=[speak(sentence) for sentence in said],
    )
    return found.model_copy(update={"beside_plan": beside})


def _shown(number: float) -> float:
    """Return the number as it is read, so that what is said to lie between two of them is what the reader finds."""
    return round(number, 1)
