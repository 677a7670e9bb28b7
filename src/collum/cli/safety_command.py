"""`collum safety`: what a case answers of the safety questions, what keeps a paper closed, and the checklist as a paper."""

from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from collum.cli.case_file import read_case
from collum.cli.ending import faulty
from collum.cli.in_force import settings_in_force
from collum.cli.options import AsJson, CaseFile, Errors
from collum.cli.written import write_whole
from collum.wording import text

if TYPE_CHECKING:
    from collum.evidence.safety_rules import Procedure
    from collum.wire.safety.document import PointDocument, SafetyDocument

Checklist = Annotated[Path | None, typer.Option("--pdf", metavar="OUT", help=text("cli.option.checklist"), show_default=False)]


Letter = Annotated[Path | None, typer.Option("--letter", metavar="OUT", help=text("cli.option.letter"), show_default=False)]


def safety(
    case: CaseFile,
    procedure: Annotated[
        Literal["current", "scalpel", "bone", "movement"], typer.Option("--for", help=text("cli.option.for"))
    ] = "current",
    json: AsJson = False,
    pdf: Checklist = None,
    letter: Letter = None,
    force: Annotated[bool, typer.Option("--force", help=text("cli.option.force"))] = False,
    errors: Errors = "text",
) -> None:
    for option, target in (("--pdf", pdf), ("--letter", letter)):
        if target is not None and target.exists() and not force:
            faulty(option, "exists", "new_name")
    from collum.app.plans.papers import PaperRefused, loose_checklist, loose_letter
    from collum.app.safety.gate import assess

    environment = settings_in_force({}).environment()
    document = read_case(case)
    found = assess(document, procedure, environment.now())
    if pdf is not None:
        write_whole(pdf, loose_checklist(environment, document))
    if letter is not None:
        try:
            written = loose_letter(environment, document)
        except PaperRefused as refused:
            faulty("--letter", "paper_refused", "answers_to_ask", value=str(refused))
        write_whole(letter, written)
    print(found.model_dump_json() if json else "\n".join(_lines(document.patient.reference, found)))


COMMANDS: Mapping[str, Callable[..., None]] = {"safety": safety}


def _lines(reference: str, found: "SafetyDocument") -> Iterable[str]:
    """Yield the answer for reading: the state, what closes, what is unanswered, what to mind."""
    yield text("cli.safety.head", {"reference": reference, "procedure": text(f"safety.procedure.{found.procedure}")})
    yield found.state.text
    if found.visit is not None and found.counts_until is not None:
        yield text("cli.safety.until", {"until": found.counts_until})
    yield text("cli.safety.plan", {"mark": found.plan_mark})
    yield text("cli.safety.list", {"mark": found.history.mark})
    points = [*found.points, *(point for tooth in found.teeth for point in tooth.points)]
    closing = [p for p in points if p.closes and p.outcome not in ("unanswered", "outdated")]
    yield from _listed("cli.safety.closing", map(_point, sorted(closing, key=lambda p: p.outcome != "stop")))
    yield from _listed("cli.safety.outdated", _questions(point for point in points if point.outcome == "outdated"))
    yield from _listed("cli.safety.unanswered", _unanswered(found, points))
    yield from _listed("cli.safety.minded", (_point(p) for p in points if not p.closes))
    yield from _listed("cli.safety.plate", (sentence.text for sentence in found.plate))
    yield from _listed("cli.safety.reminders", (sentence.text for sentence in found.reminders))
    yield ""
    yield found.alternative.text


def _listed(title: str, lines: Iterable[str]) -> Iterable[str]:
    found = list(lines)
    if found:
        yield ""
        yield text(title)
        yield from (f"  · {line}" for line in found)


def _point(point: "PointDocument") -> str:
    said: dict[str, str] = {
        "where": point.where,
        "outcome": text(f"safety.outcome.{point.outcome}"),
        "what": point.text.text,
    }
    if point.override is None:
        return text("cli.safety.point", said)
    return text("cli.safety.overridden", {**said, "name": point.override.name, "at": point.override.at})


def _unanswered(found: "SafetyDocument", points: Iterable["PointDocument"]) -> Iterable[str]:
    """Yield the questions without an answer; all of them where no visit was opened."""
    if found.visit is None:
        return (
            text("cli.safety.question", {"where": rule, "question": said}) for rule, said in _asked(found.procedure).items()
        )
    return _questions(point for point in points if point.outcome == "unanswered")


def _questions(points: Iterable["PointDocument"]) -> Iterable[str]:
    asked = _asked()
    return [text("cli.safety.question", {"where": point.where, "question": asked[point.rule]}) for point in points]


def _asked(procedure: "Procedure | None" = None) -> Mapping[str, str]:
    """Return the questions in words; of a procedure those that concern it."""
    from collum.app.speaking import words
    from collum.evidence.safety_rules import RULES
    from collum.plan.safety import question

    return {rule.id: words(question(rule)) for rule in RULES if procedure is None or procedure in rule.outcomes}
