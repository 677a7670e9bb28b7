"""A backup brought back: the same record, with the restore in its trail; no answer from before it clears a card."""

import errno
import hashlib
import json
from collections.abc import Callable
from pathlib import Path

import pytest

from collum.app.record import restoring
from collum.app.record.backups import back_up
from collum.app.record.lockable import RecordLocked
from collum.app.record.restoring import TakenFolder, by_passphrase, by_recovery_code, looked_through, restore_into
from collum.app.record.roles import NotAllowed
from collum.app.record.tries import TooManyTries
from collum.app.record.vault import Vault
from collum.case import CaseFaults, to_document
from collum.plan.heat import HeatWishes
from collum.records import DATABASE, RoundMark, StorageError, head_of_text
from collum.records.backup import BackupFault
from collum.records.conversion import STAGED
from collum.records.engine import reading
from collum.records.inspection import inspect_record
from collum.records.opening import read_engine
from collum.records.placing import put_in_place
from collum.records.sealing import RecoveryCodeFault, Stretching, User, WrongPassphrase, new_recovery_code, read_key_file
from collum.records.tables import EVENT
from tests.app.bench import Bench, stays_closed
from tests.making.environment import FixedEnvironment
from tests.making.teeth import case_of, overgrown_premolar
from tests.papers.pages import words_of

WORDS, OTHER_WORDS = "seven wooden spoons", "a grey heron sleeps"
OWNER = by_passphrase("AB", WORDS)


@pytest.fixture(autouse=True)
def cheap(monkeypatch: pytest.MonkeyPatch) -> None:
    """A passphrase becomes a key by one hash."""

    def key_of(self: Stretching, passphrase: str) -> bytes:
        return hashlib.sha256(self.salt + passphrase.encode()).digest()

    monkeypatch.setattr(Stretching, "key_of", key_of)


class Practice:
    """A sealed practice with a case whose card is open, a round that runs, and a backup of it."""

    def __init__(self, folder: Path) -> None:
        self.environment = FixedEnvironment(data_directory=folder / "data")
        vault = Vault(self.environment, draws=300)
        self.recovery = vault.set_up("AB", WORDS)
        vault.add_user(User(code="CD", role="clinician"), OTHER_WORDS)
        bench = Bench(vault.practice)
        bench.open_visit()
        bench.answer()
        self.plan_id, self.case_id = bench.plan(), bench.case_id
        bench.issue(self.plan_id)
        begun = vault.practice.rounds.start(self.case_id, revision=bench.revision, position=0, wishes=HeatWishes(), lead_s=0)
        mark = RoundMark(key="k", kind="metal", at_s=3.0, sector=1, lasted_s=1.0)
        vault.practice.rounds.mark(self.case_id, begun.record.id, [mark])
        self.document, self.revision, self.ids = bench.document, bench.revision, 0
        self.file, self.manifest = back_up(self.environment, folder / "place", vault.keys_for("back up"))
        vault.close()

    def at(self, folder: Path) -> FixedEnvironment:
        """The environment later, in another folder; its ids never were before."""
        self.ids += 1000
        return FixedEnvironment(data_directory=folder, ids=self.ids, moment=self.environment.moment)


@pytest.fixture
def kept(tmp_path: Path, planned_once: None, paced_by_hand: None) -> Practice:
    return Practice(tmp_path)


def everything(folder: Path) -> dict[str, bytes]:
    return {str(file.relative_to(folder)): file.read_bytes() for file in folder.rglob("*") if file.is_file()}


def in_a_new_folder(kept: Practice, folder: Path) -> None:
    restore_into(kept.file, OWNER, kept.at(folder), folder)


def in_a_new_data_directory(kept: Practice, folder: Path) -> None:
    vault = Vault(kept.at(folder), draws=300)
    vault.restore(kept.file, OWNER)
    assert vault.state == "locked"
    vault.close()


@pytest.mark.parametrize("bring_back", [in_a_new_folder, in_a_new_data_directory])
def test_the_record_is_back_and_nothing_answered_before_clears_a_card(
    kept: Practice, tmp_path: Path, bring_back: Callable[[Practice, Path], None]
) -> None:
    folder = tmp_path / "again"
    bring_back(kept, folder)
    assert [path.name for path in folder.iterdir() if "restoring" in path.name] == []
    vault = Vault(kept.at(folder), draws=300)
    vault.unlock("CD", OTHER_WORDS)
    practice = vault.practice
    earlier = practice.store.revision(kept.case_id, kept.revision)
    assert json.loads(earlier.document) == kept.document
    bench = Bench.__new__(Bench)
    bench.practice, bench.case_id = practice, kept.case_id
    assert bench.document["patient"] == kept.document["patient"] and bench.document["teeth"] == kept.document["teeth"]
    stays_closed(bench, kept.plan_id, "no_visit")
    with pytest.raises(CaseFaults):
        bench.save(kept.document)  # what was answered before is not brought in again
    (ended,) = practice.rounds.of_case(kept.case_id)
    assert ended.end is not None
    assert [event["kind"] for event in json.loads(ended.end.log)] == ["metal", "stopped"]
    assert json.loads(ended.end.state)["phase"] == "stopped"
    bench.open_visit()
    bench.answer()
    bench.issue(bench.plan())
    vault.close()


def test_the_restore_is_in_the_trail_with_the_head_of_the_backup(kept: Practice, tmp_path: Path) -> None:
    folder = tmp_path / "again"
    found = restore_into(kept.file, OWNER, kept.at(folder), folder)
    assert found.head == kept.manifest.head
    keys = read_key_file(folder).unlock("AB", WORDS)[0]
    engine = read_engine(folder / DATABASE, keys, unshared=True)
    with reading(engine) as connection:
        events = connection.execute(EVENT.select().order_by(EVENT.c.number)).mappings().all()
    engine.dispose()
    number = int(found.head.split("-")[0])
    after = events[number]
    assert (after["action"], after["row"], after["author"]) == ("record restored", f"backup {found.head}", "AB")
    assert inspect_record(folder, None, keys).faults == ()


def test_a_paper_names_the_entry_that_wrote_its_plan_and_is_the_same_whenever_it_is_printed(kept: Practice) -> None:
    vault = Vault(kept.at(kept.environment.data_directory), draws=300)
    vault.unlock("AB", WORDS)
    first = vault.practice.paper(kept.plan_id, "plan-sheet")
    entry = vault.practice.store.entry_of_plan(kept.plan_id)
    assert entry is not None and vault.practice.store.holds(head_of_text(entry))
    vault.practice.create(kept.document)
    assert vault.practice.paper(kept.plan_id, "plan-sheet") == first
    assert f"entry {entry}" in words_of(first)
    vault.close()


def test_a_dry_run_tells_what_would_come_back_and_leaves_nothing(kept: Practice, tmp_path: Path) -> None:
    before = everything(tmp_path)
    found = looked_through(kept.file, by_recovery_code(kept.recovery), tmp_path)
    assert (found.manifest, found.users, found.counts["case"]) == (kept.manifest, ("AB", "CD"), 1)
    assert everything(tmp_path) == before and len(list(tmp_path.iterdir())) == 2


def test_who_may_not_restore_does_not(kept: Practice, tmp_path: Path) -> None:
    folder = tmp_path / "again"
    for opener, refusal in (
        (by_passphrase("AB", OTHER_WORDS), WrongPassphrase),
        (by_passphrase("CD", OTHER_WORDS), NotAllowed),
        (by_recovery_code("0000-0000-0000-0000-0000-0000-0000"), RecoveryCodeFault),
    ):
        with pytest.raises(refusal):
            restore_into(kept.file, opener, kept.at(folder), folder)
    assert not folder.exists()


def test_wrong_passphrases_of_a_backup_wait_and_one_that_opens_it_ends_no_count(kept: Practice, tmp_path: Path) -> None:
    environment = kept.at(tmp_path / "again")
    vault = Vault(environment, draws=300)
    wrong, other_code = by_passphrase("AB", OTHER_WORDS), by_recovery_code(new_recovery_code())
    for attempt, opener in ((vault.look_through, wrong), (vault.restore, wrong), (vault.look_through, other_code)):
        with pytest.raises(WrongPassphrase):
            attempt(kept.file, opener)
    with pytest.raises(TooManyTries):
        vault.look_through(kept.file, OWNER)
    environment.seconds += 1
    vault.look_through(kept.file, OWNER)
    with pytest.raises(WrongPassphrase):
        vault.restore(kept.file, wrong)
    environment.seconds += 1  # the fourth in a row: two seconds
    with pytest.raises(TooManyTries):
        vault.restore(kept.file, OWNER)
    vault.close()


def test_a_backup_is_never_put_over_anything(kept: Practice, tmp_path: Path) -> None:
    folder = tmp_path / "again"
    folder.mkdir()
    (folder / "x").write_text("mine", encoding="utf-8")
    before = everything(tmp_path)
    with pytest.raises(TakenFolder):
        restore_into(kept.file, OWNER, kept.at(folder), folder)
    vault = Vault(kept.environment, draws=300)
    with pytest.raises(RecordLocked):
        vault.restore(kept.file, OWNER)
    vault.close()
    assert everything(tmp_path) == before
    (folder / "x").unlink()
    restore_into(kept.file, OWNER, kept.at(folder), folder)  # an empty one is taken


def test_a_damaged_backup_leaves_nothing_behind(kept: Practice, tmp_path: Path) -> None:
    content = bytearray(kept.file.read_bytes())
    content[len(content) // 2] ^= 1
    kept.file.write_bytes(content)
    folder = tmp_path / "again"
    with pytest.raises(BackupFault):
        restore_into(kept.file, OWNER, kept.at(folder), folder)
    assert not folder.exists() and sorted(path.name for path in tmp_path.iterdir()) == ["data", "place"]


@pytest.mark.parametrize("step", ["write_key_file", "switch"])
def test_one_that_is_cut_short_at_the_end_leaves_no_record_and_is_made_anew(
    kept: Practice, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, step: str
) -> None:
    """As a kill leaves it: what follows the step never runs, neither does what would tidy up."""
    folder = tmp_path / "again"

    class Killed(BaseException):
        pass

    def dies(*_arguments: object, **_named: object) -> None:
        raise Killed

    with monkeypatch.context() as patched:
        patched.setattr(f"collum.records.placing.{step}", dies)
        patched.setattr(restoring, "rmtree", lambda *_a, **_n: None)
        vault = Vault(kept.at(folder), draws=300)
        with pytest.raises(Killed):
            vault.restore(kept.file, OWNER)
        vault.close()
    assert (folder / STAGED).exists() and not (folder / DATABASE).exists()
    vault = Vault(kept.at(folder), draws=300)
    assert vault.state == "new" and everything(folder) == {}
    vault.restore(kept.file, OWNER)
    assert vault.unlock("AB", WORDS).code == "AB"
    vault.close()


def test_a_disk_that_refuses_leaves_no_record_and_nothing_else(
    kept: Practice, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuses(*_arguments: object) -> None:
        raise OSError(errno.ENOSPC, "full")

    folder = tmp_path / "again"
    vault = Vault(kept.at(folder), draws=300)
    with monkeypatch.context() as patched:
        patched.setattr("collum.records.placing.write_key_file", refuses)
        with pytest.raises(StorageError) as told:
            vault.restore(kept.file, OWNER)
    assert told.value.trouble == "full" and everything(folder) == {} and vault.state == "new"
    vault.restore(kept.file, OWNER)
    vault.close()


def test_a_record_is_not_put_where_there_is_one(kept: Practice, tmp_path: Path) -> None:
    with pytest.raises(StorageError):
        put_in_place(tmp_path, kept.environment.data_directory, read_key_file(kept.environment.data_directory))


def test_the_case_in_the_backup_is_the_one_that_was_made(kept: Practice) -> None:
    assert kept.document["teeth"] == to_document(case_of(overgrown_premolar()))["teeth"]
