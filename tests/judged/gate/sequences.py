"""Sequences at the record of a practice: each tries to get a paper of an operation although a fact closes it.

Most are tried with several facts. A sequence ends with everything in place for the paper but for the fact; whoever calls it
then asks for the paper of every plan that was stored.
"""

from collections.abc import Callable, Mapping
from datetime import timedelta
from typing import Any

from collum.case import from_document, plan_mark
from tests.judged.gate.cases import PROCEDURE, visit_of
from tests.judged.gate.doors import Chair, refused
from tests.judged.gate.expected import Told
from tests.judged.gate.said import Way, rule_of
from tests.judged.gate.tricks import look_alike
from tests.judged.gate.truth import Operation

Sequence = Callable[[Chair, Way, Operation], None]


def cleared(chair: Chair, operation: Operation) -> str:
    """Open a visit, answer all of it without harm, store the plan and issue its card."""
    chair.visit()
    chair.say()
    plan_id = chair.plan()
    if operation == "current":
        chair.issue(plan_id)
    return plan_id


def _stop(chair: Chair, way: Way, _operation: Operation) -> None:
    chair.visit()
    chair.say(way)


def _plan_before(chair: Chair, way: Way, _operation: Operation) -> None:
    chair.plan()
    chair.visit()
    chair.say(way)


def _issued_before(chair: Chair, way: Way, operation: Operation) -> None:
    cleared(chair, operation)
    chair.say(way)


def _issued_in_an_earlier_visit(chair: Chair, way: Way, operation: Operation) -> None:
    cleared(chair, operation)
    chair.visit()
    chair.say(way)


def _new_visit_unanswered(chair: Chair, way: Way, operation: Operation) -> None:
    cleared(chair, operation)
    chair.say(way)
    chair.visit()


def _new_visit_answered_in_part(chair: Chair, way: Way, operation: Operation) -> None:
    _new_visit_unanswered(chair, way, operation)
    document = chair.document
    document["visits"][-1]["screening"] = {"cardiac_device": "no", "consent": "yes"}
    chair.save(document)


def _closing_visit_dropped(chair: Chair, way: Way, operation: Operation) -> None:
    cleared(chair, operation)
    chair.visit()
    chair.say(way)
    document = chair.document
    document["visits"].pop()
    refused(lambda: chair.save(document))


def _visits_swapped(chair: Chair, way: Way, operation: Operation) -> None:
    cleared(chair, operation)
    chair.visit()
    chair.say(way)
    document = chair.document
    document["visits"].reverse()
    refused(lambda: chair.save(document))


def _visit_copied_behind(chair: Chair, way: Way, operation: Operation) -> None:
    cleared(chair, operation)
    chair.visit()
    chair.say(way)
    document = chair.document
    document["visits"].append(document["visits"][0])
    refused(lambda: chair.save(document))


def _visit_moved_on(chair: Chair, way: Way, operation: Operation) -> None:
    """The clean visit of yesterday is dated today by hand."""
    cleared(chair, operation)
    chair.environment.moment += timedelta(days=1)
    chair.say(way)
    document = chair.document
    document["visits"].append({**visit_of(plan_mark(from_document(document)), [chair.number], _NOTHING)})
    refused(lambda: chair.save(document))


def _stale_save(chair: Chair, way: Way, operation: Operation) -> None:
    """Another tab, opened before the stop was recorded, saves what it shows."""
    cleared(chair, operation)
    shown, base = chair.document, chair.revision
    chair.say(way)
    refused(lambda: chair.save({**shown, "note": "of the other tab"}, base))


def _stale_card(chair: Chair, way: Way, operation: Operation) -> None:
    plan_id, base = cleared(chair, operation), chair.revision
    chair.say(way)
    for revision in (base, base + 2, 0, -1, 10**6):
        assert refused(lambda r=revision: chair.issue(plan_id, revision=r))  # type: ignore[misc]


def _wrong_teeth(chair: Chair, way: Way, _operation: Operation) -> None:
    chair.visit()
    chair.say(way)
    plan_id = chair.plan()
    for tooth in (1, 31, 99):
        assert refused(lambda t=tooth: chair.issue(plan_id, t))  # type: ignore[misc]


def _aged_without_stop(chair: Chair, _way: Way, operation: Operation) -> None:
    cleared(chair, operation)
    chair.environment.moment += timedelta(hours=12, minutes=1)


def _clock_set_back(chair: Chair, way: Way, operation: Operation) -> None:
    cleared(chair, operation)
    cleared_at = chair.environment.moment
    chair.environment.moment += timedelta(days=1)
    chair.visit()
    chair.say(way)
    chair.environment.moment = cleared_at


def _clock_before_the_visit(chair: Chair, _way: Way, operation: Operation) -> None:
    cleared(chair, operation)
    chair.environment.moment -= timedelta(hours=2)


def _neighbour_and_back(chair: Chair, way: Way, operation: Operation) -> None:
    cleared(chair, operation)
    chair.say(way)
    document = chair.document
    role = document["teeth"][0].get("role", "crown")
    document["teeth"][0]["role"] = "neighbour"
    refused(lambda: chair.save(document))
    document = chair.document
    document["teeth"][0]["role"] = role
    refused(lambda: chair.save(document))


def _made_a_neighbour(chair: Chair, _way: Way, operation: Operation) -> None:
    """The tooth of a stored plan is no longer planned."""
    cleared(chair, operation)
    document = chair.document
    document["teeth"].append({**document["teeth"][0], "number": 17})
    document["teeth"][0]["role"] = "neighbour"
    chair.save(document)


def _renumbered(chair: Chair, way: Way, operation: Operation) -> None:
    """The tooth gets another number, so that what was answered of it is nobody's."""
    cleared(chair, operation)
    chair.say(way)
    document = chair.document
    document["teeth"][0]["number"] = 36 if chair.number != 36 else 46
    refused(lambda: chair.save(document))


def _readings_changed_and_back(chair: Chair, way: Way, operation: Operation) -> None:
    cleared(chair, operation)
    chair.say(way)
    document = chair.document
    was = document["teeth"][0].get("held")
    document["teeth"][0]["held"] = {"cut": {"F": -1.0}}
    refused(lambda: chair.save(document))
    document = chair.document
    document["teeth"][0].pop("held", None)
    refused(lambda: chair.save(document | ({"held": was} if was else {})))


def _nothing_cut(chair: Chair, _way: Way, operation: Operation) -> None:
    """The cut is held at today's margin all round."""
    cleared(chair, operation)
    document = chair.document
    held = dict.fromkeys(document["teeth"][0]["sites"]["order"], 0.0)
    document["teeth"][0] |= {"held": {"cut": held}} if operation in ("current", "scalpel") else {"vertical_root_fracture": True}
    chair.save(document)
    chair.answer()


def _readings_changed(chair: Chair, _way: Way, operation: Operation) -> None:
    """Everything is harmless, but was answered for another plan."""
    cleared(chair, operation)
    document = chair.document
    document["teeth"][0]["sites"]["keratinised_width"]["F"] = 6.0
    chair.save(document)


def _brought_in_anew(chair: Chair, _way: Way, operation: Operation) -> None:
    """A cleared case is saved to a file and brought in as a new one: its answers have to be given again."""
    cleared(chair, operation)
    made = chair.practice.create(chair.document)
    chair.case_id, chair.plans = made.case_id, []


_NOTHING = Told(ways=(), answered_for=False)


def _override(spell: Callable[[str], str] = str, **changes: Any) -> Sequence:
    def sequence(chair: Chair, way: Way, operation: Operation) -> None:
        chair.visit()
        chair.say(way)
        rule = rule_of(way)
        tooth = chair.number if way.part in ("tooth", "record") else None
        asked = {"rule": spell(rule), "tooth": tooth, "name": "D. Nurse", "reason": "looked at it myself"}
        asked |= {"procedure": PROCEDURE[operation], **changes}
        refused(lambda: chair.practice.safety.override(chair.case_id, base_revision=chair.revision, **asked))

    return sequence


def _correct(**asked: Any) -> Sequence:
    """The record is corrected by name, but not the entry that closes, or without a name."""

    def sequence(chair: Chair, way: Way, _operation: Operation) -> None:
        chair.visit()
        chair.say(way)
        given = {"field": "stops", "entry": "pacemaker", "instead": None, "name": "D. Nurse", "reason": "asked again"} | asked
        refused(lambda: chair.practice.safety.correct(chair.case_id, base_revision=chair.revision, **given))
        chair.answer()

    return sequence


def _written_over(**patient: Any) -> Sequence:
    """A plain save takes the closing words of the record away, or makes them look harmless."""

    def sequence(chair: Chair, way: Way, _operation: Operation) -> None:
        chair.visit()
        chair.say(way)
        document = chair.document
        changed = {key: value for key, value in (document["patient"] | patient).items() if value is not None}
        refused(lambda: chair.save({**document, "patient": changed}))
        chair.answer()

    return sequence


def _another_version(chair: Chair, _way: Way, operation: Operation) -> None:
    cleared(chair, operation)
    chair.environment.program_version = "9.9.9"


# With any closing fact.
WITH_A_FACT: Mapping[str, Sequence] = {
    "said": _stop,
    "said after the plan was stored": _plan_before,
    "said after the card was issued": _issued_before,
    "said in a visit after the card was issued": _issued_in_an_earlier_visit,
    "said, then a new visit that nobody answered": _new_visit_unanswered,
    "said, then a new visit answered in part": _new_visit_answered_in_part,
    "said, its visit dropped": _closing_visit_dropped,
    "said, the visits swapped": _visits_swapped,
    "said, the clean visit copied behind": _visit_copied_behind,
    "said, a clean visit dated by hand": _visit_moved_on,
    "said, another tab saves": _stale_save,
    "said, the card asked with other revisions": _stale_card,
    "said, other teeth of the plan": _wrong_teeth,
    "said, the clock set back": _clock_set_back,
    "said, the tooth made a neighbour and back": _neighbour_and_back,
    "said, the tooth renumbered": _renumbered,
    "said, a line held and let go": _readings_changed_and_back,
    "said, answered for": _override(),
    "said, answered for in capitals": _override(str.upper),
    "said, answered for with a space": _override(lambda rule: f" {rule}"),
    "said, answered for with a look-alike": _override(look_alike),
    "said, answered for the whole mouth": _override(tooth=None),
    "said, answered for another tooth": _override(tooth=11),
    "said, answered for current": _override(procedure="current"),
    "said, answered for bone": _override(procedure="bone"),
    "said, answered for movement": _override(procedure="movement"),
    "said, answered for by nobody": _override(name=" "),
    "said, answered for without a reason": _override(reason=""),
    "said, answered for as the team": _override(lambda _: "operator_alone", tooth=None),
    "said, answered for as free words": _override(lambda _: "recorded_stops", tooth=None),
    "said, answered for as drugs": _override(lambda _: "recorded_drugs", tooth=None),
    "said, answered for as the visit": _override(lambda _: "no_visit", tooth=None),
    "said, answered for as the route": _override(lambda _: "route_not_open"),
}
# With a stop in the free words of the record.
WITH_FREE_WORDS: Mapping[str, Sequence] = {
    "taken out by a save": _written_over(stops=None),
    "emptied by a save": _written_over(stops=[]),
    "replaced by a save": _written_over(stops=["nothing"]),
    "replaced by a harmless question": _written_over(stops=["allergy"]),
    "written in capitals by a save": _written_over(stops=["PACEMAKER"]),
    "moved to the drugs": _written_over(stops=None, drugs=["pacemaker"]),
    "moved to the wish": _written_over(stops=None, wish="pacemaker"),
    "corrected by nobody": _correct(name=" "),
    "corrected without a reason": _correct(reason=" "),
    "another entry corrected": _correct(entry="letter"),
    "corrected in another case of letters": _correct(entry="PACEMAKER"),
    "corrected with a space": _correct(entry="pacemaker "),
    "corrected with a look-alike": _correct(entry=look_alike("pacemaker")),
    "corrected in the drugs": _correct(field="drugs"),
    "corrected in the screening": _correct(field="screening"),
    "corrected as everything": _correct(entry="*"),
    "corrected as nothing": _correct(entry=""),
    "put as a question there is not": _correct(instead="no_such_rule"),
    "put as a question of the room": _correct(instead="masks"),
    "put as a look-alike question": _correct(instead=look_alike("allergy")),
    "put as another stop": _correct(instead="bleeding_disorder"),
}
# With a drug in the record that closes.
WITH_A_DRUG: Mapping[str, Sequence] = {
    "the drugs taken out by a save": _written_over(drugs=None),
    "the drugs emptied by a save": _written_over(drugs=[]),
    "the drug replaced by another": _written_over(drugs=["aspirin 100"]),
    "the drug written apart": _written_over(drugs=["alen dronate 70 mg"]),
    "the drug with a look-alike": _written_over(drugs=["\u0430lendron\u0430te 70 mg"]),
    "the drug with a joiner": _written_over(drugs=["alen\u200ddronate 70 mg"]),
    "the drug in capitals": _written_over(drugs=["ALENDRONATE 70 MG"]),
    "the drug moved to the stops": _written_over(drugs=None, stops=["alendronate"]),
    "the drug corrected by nobody": _correct(field="drugs", entry="alendronate 70 mg", name=" "),
    "the drug corrected by its first word": _correct(field="drugs", entry="alendronate"),
}
# Without any closing fact: something else is lacking.
WITHOUT_A_FACT: Mapping[str, Sequence] = {
    "the visit aged": _aged_without_stop,
    "the clock set before the visit": _clock_before_the_visit,
    "the tooth made a neighbour": _made_a_neighbour,
    "nothing cut, or the root split": _nothing_cut,
    "answered for other readings": _readings_changed,
    "brought in anew from a file": _brought_in_anew,
    "a plan of another version": _another_version,
}
