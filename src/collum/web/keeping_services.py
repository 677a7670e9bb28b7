"""The use cases of how long cases are kept, in wire form."""

from collections.abc import Callable
from contextlib import AbstractContextManager

from collum.app.cases.keeping import CaseKept
from collum.app.record.roles import Act, acts_of
from collum.app.record.vault import Vault
from collum.web import keeping_schemas as wire

_DECIDE: Act = "decide how long cases are kept"
Troubles = Callable[[], AbstractContextManager[None]]


class KeepingServices:
    """Answers the routes from the practice of a vault; its troubles become those the routes know."""

    def __init__(self, vault: Vault, troubles: Troubles) -> None:
        self._vault = vault
        self._troubles = troubles

    def now(self) -> wire.KeepingAnswer:
        """Return the rule and how many cases are past their time; nothing in a demo. Raises RecordLocked, NoStorage."""
        practice, user = self._vault.practice, self._vault.user
        if user is None:
            return wire.KeepingAnswer(years=0, past=0, may_decide=False, cases=[])
        with self._troubles():
            found = practice.keeping.now()
        decides = _DECIDE in acts_of(user)
        cases = [_case(case) for case in found.past] if decides else []
        return wire.KeepingAnswer(years=found.years, past=len(found.past), may_decide=decides, cases=cases)

    def set_rule(self, body: wire.KeepingRequest) -> wire.KeepingAnswer:
        """Set the rule. Raises NotAllowed, RecordLocked, NoStorage."""
        self._vault.keys_for(_DECIDE)
        with self._troubles():
            self._vault.practice.keeping.set_rule(body.years)
        return self.now()

    def keep(self, case_id: str, body: wire.KeepCaseRequest) -> wire.KeepingAnswer:
        """Keep a case longer. Raises NotAllowed, NotToCome, NoSuchRecord, CaseDeleted, RecordLocked, NoStorage."""
        self._vault.keys_for(_DECIDE)
        with self._troubles():
            self._vault.practice.keeping.keep(case_id, body.until, body.reason)
        return self.now()


def _case(case: CaseKept) -> wire.CasePastAnswer:
    decided = case.decided
    return wire.CasePastAnswer(
        case_id=case.case_id,
        reference=case.reference,
        teeth=list(case.teeth),
        last_entry_at=case.last_entry_at,
        until=case.until,
        decided=None
        if decided is None
        else wire.KeptOnAnswer(until=decided.until, reason=decided.reason, at=decided.kept_at, author=decided.author),
    )
