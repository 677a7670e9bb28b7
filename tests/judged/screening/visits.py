"""A first visit with a full history, and a second at which the list is read to a patient who speaks up at what is new."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import timedelta
from typing import Any

from collum.app.practice import Practice
from collum.evidence.safety_rules import PROCEDURES, Procedure
from collum.wire.safety.document import SafetyDocument
from tests.making.answers import answered
from tests.making.case_documents import case_document
from tests.making.environment import FixedEnvironment

LATER = timedelta(days=92)
WORDS_A_MINUTE = 150  # of reading aloud; an estimate of ours, to give the keys a time beside them
KEY_S = 1.0


@dataclass(frozen=True, kw_only=True)
class Heard:
    """What came of reading the list out: whether the patient spoke up, the keys that were pressed, the words read."""

    spoke: bool
    keys: int
    words: int
    gates: Mapping[Procedure, SafetyDocument]

    @property
    def time_s(self) -> float:
        return self.words * 60 / WORDS_A_MINUTE + self.keys * KEY_S


class Reception:
    """One case of a practice with its first visit behind it."""

    def __init__(self, practice: Practice, environment: FixedEnvironment, before: Mapping[str, Any]) -> None:
        document = case_document()
        document["patient"] |= before
        self.practice, self.case_id = practice, practice.create(document).case_id
        self._visit()
        told = dict.fromkeys(before.get("history", {}), "yes")
        self._save(answered(self.document, told))
        environment.moment += LATER
        self._visit()
        of_today = answered(self.document)
        of_today["visits"][-1]["screening"] = {"consent": "yes"}
        self._save(of_today)

    @property
    def document(self) -> dict[str, Any]:
        return dict(self.practice.open(self.case_id).document)

    def read(self, patient: Mapping[str, Any]) -> Heard:
        """Read out what the list shows, enter what the patient says is new, and close the list; ask every gate."""
        gate = self.gate("current")
        lines = [*gate.history.recorded, *(line.question.text for line in gate.history.lines)]
        spoke = any(word.casefold() in line.casefold() for word in patient.get("knows", ()) for line in lines)
        keys = len("AB") + 1  # who reads, and the button
        if spoke:
            keys += self._enter(patient["enters"])
        mark = self.gate("current").history.mark
        self.practice.safety.read_out(self.case_id, base_revision=self._revision, list=mark, by="AB")
        gates = {procedure: self.gate(procedure) for procedure in PROCEDURES}
        return Heard(spoke=spoke, keys=keys, words=sum(len(line.split()) for line in lines), gates=gates)

    def gate(self, procedure: Procedure) -> SafetyDocument:
        return self.practice.safety.of_case(self.case_id, procedure)

    def _enter(self, entered: Mapping[str, Any]) -> int:
        """Enter what was said, for the plan that follows, and return the keys: one an answer or a choice, one a letter."""
        document = self.document
        document["visits"][-1]["screening"] |= entered.get("answers", {})
        document["patient"]["drugs"] = [*document["patient"].get("drugs", ()), *entered.get("drugs", ())]
        document["patient"]["history"] = document["patient"].get("history", {}) | entered.get("history", {})
        again = answered(document)
        again["visits"][-1]["screening"] = document["visits"][-1]["screening"]
        self._save(again)
        stated = [value for fact in entered.get("history", {}).values() for value in fact.values()]
        typed = [*entered.get("drugs", ()), *(value for value in stated if isinstance(value, float))]
        return len(entered.get("answers", {})) + len(stated) + sum(len(str(one)) for one in typed)

    def _visit(self) -> None:
        self.practice.safety.open_visit(self.case_id, base_revision=self._revision, kind="cut", by="DN")

    def _save(self, document: Mapping[str, Any]) -> None:
        self.practice.save(self.case_id, base_revision=self._revision, document=dict(document))

    @property
    def _revision(self) -> int:
        return self.practice.open(self.case_id).revision
