"""The list of drugs and illnesses as it is shown and read out, and the time-out, in words."""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import fields
from typing import Any

from collum.case.history import Answer
from collum.case.model import Case
from collum.case.visit import ReadOut, TimeOut, Visit
from collum.evidence.patient_rows import FACTS
from collum.evidence.safety_layers import HISTORY
from collum.evidence.safety_rules import RULE_OF
from collum.plan.patient.answers import answers_of, asked_in_full, carried, is_read_out, list_mark
from collum.plan.safety.gate import Screening, shown_time
from collum.plan.safety.points import question
from collum.plan.sentence import Sentence, say
from collum.wire.form import SentenceDocument, Wire
from collum.wire.speaking import Words, speaker

_DAY = 10  # characters of a moment that are its day


class HistoryLineDocument(Wire):
    """A question of the history with the last answer; `today`: it was given in this visit."""

    rule: str
    question: SentenceDocument
    answer: str | None
    today: bool


class HistoryDocument(Wire):
    """What is read out: `recorded` are the drugs and illnesses of the record, `lines` what was answered.

    `mark` names the list as it is. `taken_on`: the day of the last full history, null where it has to be asked in full.
    `in_full`: it was, in this visit. `read_out`: how the list was read out in this visit, null where it was not, or is
    another by now.
    """

    mark: str
    taken_on: str | None
    in_full: bool
    recorded: list[str]
    lines: list[HistoryLineDocument]
    read_out: SentenceDocument | None


def history_document(screening: Screening, words: Words) -> HistoryDocument:
    """Return the list of a screening as it leaves the program."""
    case, visit, speak = screening.case, screening.visit, speaker(words)
    known, own = answers_of(case), {} if visit is None else visit.screening or {}
    read = None if visit is None else read_out_said(case, visit)
    taken_at = carried(case).taken_at
    return HistoryDocument(
        mark=list_mark(case),
        taken_on=None if taken_at is None else taken_at[:_DAY],
        in_full=visit is not None and asked_in_full(visit),
        recorded=list(_recorded(case, words)),
        lines=[
            HistoryLineDocument(rule=rule, question=speak(question(RULE_OF[rule])), answer=known.get(rule), today=rule in own)
            for rule in HISTORY
        ],
        read_out=None if read is None else speak(read),
    )


def read_out_said(case: Case, visit: Visit) -> Sentence | None:
    """Return how the list was read out in a visit; None where it was not, or is another by now."""
    read = visit.read_out
    if read is None or not is_read_out(case, visit):
        return None
    said = {"by": read.by, "at": shown_time(read.at)}
    if _changed(read, visit):
        return say("safety.state.read_out_changed", **said)
    return say("safety.state.read_out_unchanged", **said, taken_on=str(carried(case).taken_at)[:_DAY])


def time_out_said(entry: TimeOut, words: Callable[[Sentence], str]) -> Sentence:
    """Return a time-out in words."""
    return say(
        "safety.state.time_out",
        tooth=entry.tooth,
        side=words(say(f"safety.state.side_{entry.side}")),
        instrument=words(say(f"safety.instrument.{entry.instrument}")),
        name=entry.name,
        at=shown_time(entry.at),
    )


def _changed(read: ReadOut, visit: Visit) -> bool:
    return read.list != visit.list_before


def _recorded(case: Case, words: Words) -> Iterator[str]:
    """Yield what the record names: drugs with what they are, illnesses with what is stated, free words, age and smoking."""
    facts = case.patient.facts
    if not facts.drugs:
        yield words(say("safety.list.no_drugs"))
    said = {one.entry: one for one in facts.classified or ()}
    for drug in facts.drugs or ():
        one = said.get(drug)
        if one is None:
            yield words(say("safety.list.drug", drug=drug))
        else:
            known = say(f"safety.condition.{one.as_fact}") if one.as_fact in FACTS else say("safety.list.no_concern")
            yield words(say("safety.list.classified", drug=drug, fact=words(known), by=one.by, date=one.date))
    for fact in FACTS:
        stated = None if facts.history is None else getattr(facts.history, fact)
        if stated is not None:
            yield _fact(fact, stated, words)
    yield from (words(say("safety.list.stop", stop=stop)) for stop in facts.stops or ())
    if facts.age_band is not None:
        yield words(say("safety.list.age", age=facts.age_band))
    if facts.growing:
        yield words(say("safety.list.growing"))
    if facts.smoking is not None:
        yield words(say("safety.list.smoking", smoking=facts.smoking))


def _fact(fact: str, stated: Any, words: Words) -> str:
    name = words(say(f"safety.condition.{fact}"))
    details = ", ".join(_details(fact, stated, words))
    return words(say("safety.list.fact_stated", fact=name, stated=details)) if details else name


def _details(fact: str, stated: Any, words: Words) -> Iterable[str]:
    for field in fields(stated):
        found = getattr(stated, field.name)
        if isinstance(found, Answer):
            key = "answered" if found.agrees else "not_answered"
            yield words(say(f"safety.list.{key}", by=found.by, date=found.date))
        elif found is not None:
            label = words(say(f"screen.findings.patient.history.{fact}.{field.name}"))
            shown = words(say(f"safety.answer.{'yes' if found else 'no'}")) if isinstance(found, bool) else found
            yield words(say("safety.list.stated", label=label, value=shown))
