"""The lock while a round runs: nobody's absence locks, a hand leaves that round alone, and its end takes the last keys."""

import hashlib
from collections.abc import Iterator
from pathlib import Path

import pytest

from collum.app.chair import kept_heat as chair
from collum.app.record.lockable import IDLE_S, RecordLocked
from collum.app.record.vault import Vault
from collum.case import to_document
from collum.plan.heat import HeatWishes
from collum.records import RoundMark, StorageError
from collum.records.sealing import Stretching
from tests.app.bench import count_aloud
from tests.app.test_chair import StandingClocks, begun, touch
from tests.making.answers import answered
from tests.making.teeth import case_of, healthy_premolar
from tests.measuring.heat import heat_by_hand

WORDS = "seven wooden spoons"
LONG_S = IDLE_S + 61


class OneClock(StandingClocks):
    def for_author(self, code: str) -> "OneClock":
        self.author = code
        return self


@pytest.fixture
def vault(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Vault]:
    def key_of(self: Stretching, passphrase: str) -> bytes:
        return hashlib.sha256(self.salt + passphrase.encode()).digest()

    monkeypatch.setattr(Stretching, "key_of", key_of)
    monkeypatch.setattr(chair, "heat_of_plan", heat_by_hand)
    made = Vault(OneClock(data_directory=tmp_path, seconds=1000), draws=200)
    made.set_up("AB", WORDS)
    yield made
    made.close()


def turn(vault: Vault, by_s: float) -> None:
    environment = vault.environment
    assert isinstance(environment, OneClock)
    environment.turn(by_s)


def at_the_chair(vault: Vault) -> tuple[str, str]:
    """Start a round; return its case and its id."""
    practice = vault.practice
    case_id = practice.create(to_document(case_of(healthy_premolar()))).case_id
    visit = practice.safety.open_visit(case_id, base_revision=1, kind="cut", by="DN")
    document = answered(practice.open(case_id).document)
    practice.save(case_id, base_revision=visit.number, document=document)
    count_aloud(practice, case_id)
    revision = practice.open(case_id).revision
    begun = practice.rounds.start(case_id, revision=revision, position=0, wishes=HeatWishes(), lead_s=5)
    return case_id, begun.record.id


def test_a_record_that_nobody_used_locks_by_itself_after_the_time_of_the_page_and_a_while(vault: Vault) -> None:
    turn(vault, LONG_S - 2)
    vault.tend()
    assert vault.state == "open"
    vault.touched()
    turn(vault, 5)
    vault.tend()
    assert vault.state == "open"
    turn(vault, LONG_S)
    vault.tend()
    assert (vault.state, vault.draft_key) == ("locked", None)


def test_while_a_round_runs_absence_does_not_lock_and_a_hand_leaves_that_round_alone(vault: Vault) -> None:
    other = vault.practice.create(to_document(case_of(healthy_premolar()))).case_id
    case_id, round_id = at_the_chair(vault)
    store = vault.practice.store
    vault.lock(by_hand=False)
    assert vault.state == "open"
    vault.lock()
    assert (vault.state, vault.user, vault.draft_key, vault.rounds_left) == ("locked", None, None, (case_id,))
    with pytest.raises(RecordLocked):
        _ = vault.practice
    with pytest.raises(RecordLocked):
        vault.rounds_of(other)
    with pytest.raises(StorageError):  # not refused alone: what opens the other cases is gone
        store.newest_revision(other)

    turn(vault, 6)
    vault.rounds_of(case_id).mark(case_id, round_id, [touch("m1", 0.5, 0.4)])
    vault.tend()
    assert vault.rounds_left == (case_id,)
    turn(vault, 120)  # nobody has said yet that a stroke begins: the round is waited for
    vault.tend()
    assert vault.rounds_left == (case_id,)
    vault.rounds_of(case_id).mark(case_id, round_id, [begun(i, 10.0 * i) for i in range(3)])
    turn(vault, 11)
    vault.tend()
    assert vault.rounds_left == ()
    with pytest.raises(RecordLocked):
        vault.rounds_of(case_id)
    vault.unlock("AB", WORDS)
    marks = vault.practice.rounds.of_case(case_id)[0].marks
    assert [mark.key for mark in marks] == ["begun 0", "m1", "begun 1", "begun 2"]


def test_a_round_that_is_left_alone_holds_up_no_lock_for_ever(vault: Vault) -> None:
    case_id, _ = at_the_chair(vault)
    vault.lock()
    turn(vault, 500)
    vault.tend()
    assert vault.rounds_left == (case_id,)
    turn(vault, 120)
    vault.tend()
    assert vault.rounds_left == ()


def test_a_round_that_was_stopped_takes_the_last_keys_at_once_and_an_unlock_takes_it_over(vault: Vault) -> None:
    case_id, round_id = at_the_chair(vault)
    vault.lock()
    vault.unlock("AB", WORDS)
    assert vault.rounds_left == ()
    vault.lock()
    assert vault.rounds_left == (case_id,)
    vault.rounds_of(case_id).mark(
        case_id, round_id, [RoundMark(key="stopped", kind="stopped", at_s=0, sector=None, lasted_s=None)]
    )
    vault.tend()
    assert vault.rounds_left == ()
