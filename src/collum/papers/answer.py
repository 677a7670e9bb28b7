"""What a sheet of restoration or bridge shows: an answer, with the constants, limits and version it was worked out under."""

from collections.abc import Sequence
from dataclasses import dataclass

from collum.plan.safety import shown_time
from collum.wire.bridge.document import BridgeDocument, BridgesDocument
from collum.wire.form import ConstantDocument, SentenceDocument
from collum.wire.restoration.document import RestorationsDocument, ToothRestorationDocument
from collum.wording import text


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """An answer in its wire form. `position`: of the tooth or bridge that is shown. `stored_at`: when it was stored beside its
    plan (ISO 8601, UTC), None where it is not stored.
    """

    document: RestorationsDocument | BridgesDocument
    position: int
    stored_at: str | None = None

    @property
    def found(self) -> ToothRestorationDocument | BridgeDocument:
        """The tooth or bridge that is shown."""
        if isinstance(self.document, BridgesDocument):
            return self.document.bridges[self.position]
        return self.document.teeth[self.position]

    @property
    def limits(self) -> Sequence[SentenceDocument]:
        """What may not be concluded from it."""
        return self.document.limits if isinstance(self.document, RestorationsDocument) else ()

    def constant(self, key: str) -> ConstantDocument:
        """Return a constant as it was when the answer was worked out."""
        return {constant.key: constant for constant in self.document.constants}[key]

    def value(self, key: str) -> float:
        """Return the value of a constant as it was then."""
        return self.constant(key).value


def number_line(known: ConstantDocument) -> str:
    """Return a constant with its meaning, range, status and source."""
    told = {
        "meaning": known.meaning,
        "value": f"{known.value:g}" if known.unit == "1" else f"{known.value:g} {known.unit}",
        "range": text("paper.plan.constant_span", {"low": f"{known.low:g}", "high": f"{known.high:g}"}),
        "status": text(f"paper.status.{known.status}"),
        "source": known.source,
    }
    return text("paper.restoration.number", told)


def worked_out(answer: Answer) -> str:
    """Return by which version of the program an answer was worked out, and when it was stored."""
    version = answer.document.program_version
    if answer.stored_at is None:
        return text("paper.restoration.worked_out", {"version": version})
    return text("paper.restoration.kept", {"version": version, "at": shown_time(answer.stored_at)})
