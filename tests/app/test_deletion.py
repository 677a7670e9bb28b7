"""A case deleted: nobody reads it again in this record, backups tell until when they hold it, a restore deletes it anew."""

import hashlib
import json
from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from collum.app.cases.deletion import WrongReference, read_list
from collum.app.cases.later_deletions import places_near
from collum.app.record.backup_plan import BackupPlan
from collum.app.record.backups import Backups
from collum.app.record.lockable import RecordLocked
from collum.app.record.restoring import Restorable, by_passphrase, restore_into
from collum.app.record.roles import NotAllowed
from collum.app.record.vault import Vault
from collum.records import DATABASE, CaseDeleted, StorageError, inspect_record
from collum.records.engine import open_engine
from collum.records.sealing import Stretching, User
from collum.records.tables import CASE_KEY
from tests.making.environment import FixedEnvironment

WORDS, OTHER_WORDS = "seven wooden spoons", "a grey heron sleeps"


def document(reference: str) -> dict[str, object]:
    return {"format": "collum-case/2", "patient": {"reference": reference}, "teeth": [{"number": 35}]}


@pytest.fixture(autouse=True)
def cheap(monkeypatch: pytest.MonkeyPatch) -> None:
    """A passphrase becomes a key by one hash."""

    def key_of(self: Stretching, passphrase: str) -> bytes:
        return hashlib.sha256(self.salt + passphrase.encode()).digest()

    monkeypatch.setattr(Stretching, "key_of", key_of)


class Desk:
    """A sealed practice with two cases and a backup that holds both."""

    def __init__(self, folder: Path) -> None:
        self.place, self.data = folder / "place", folder / "data"
        self.environment = FixedEnvironment(data_directory=self.data)
        self.vault = Vault(self.environment, draws=300)
        self.vault.set_up("AB", WORDS)
        self.backups = Backups(self.vault, BackupPlan(place=self.place, kept_days=40))
        self.gone, self.stays = (self.vault.practice.create(document(name)).case_id for name in ("ZQX-7731", "STAYS"))
        self.plan_id = self.vault.practice.store_plan(self.gone, revision=1).id
        self.vault.practice.paper(self.plan_id, "restoration-sheet")
        self.later()
        self.backups.make()
        self.backups.wait()
        (self.backup,) = self.place.iterdir()
        self.later()

    def later(self) -> None:
        """Go on a minute later, by one clock for all."""
        self.vault.lock()
        self.environment.moment += timedelta(minutes=1)
        self.vault.unlock("AB", WORDS)

    def delete(self, reference: str = "ZQX-7731") -> None:
        self.done = self.backups.delete(self.gone, reference=reference, reason="wish of the person")


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Desk]:
    made = Desk(tmp_path)
    yield made
    made.backups.finish()
    made.vault.close()


def references(vault: Vault) -> list[str]:
    return [case.reference for case in vault.practice.cases()]


def test_a_deleted_case_is_read_by_nobody_and_the_trail_is_whole(desk: Desk) -> None:
    practice = desk.vault.practice
    kept = practice.stored_plan(desk.plan_id)
    assert practice.store.answers.of_plan(kept, "restoration") is not None
    desk.delete()
    assert references(desk.vault) == ["STAYS"]
    for read in (
        lambda: practice.open(desk.gone),
        lambda: practice.open_earlier(desk.gone, 1),
        lambda: practice.stored_plan(desk.plan_id),
        lambda: practice.save(desk.gone, base_revision=1, document=document("ZQX-7731")),
        lambda: practice.paper(desk.plan_id, "plan-sheet"),
        lambda: practice.store.answers.of_plan(kept, "restoration"),
    ):
        with pytest.raises(CaseDeleted):
            read()
    keys = desk.vault.keys_for("verify")
    assert inspect_record(desk.data, None, keys).faults == ()
    desk.vault.lock()
    desk.vault.unlock("AB", WORDS)
    assert references(desk.vault) == ["STAYS"]


def test_the_key_is_in_no_file_of_the_record_any_more(desk: Desk) -> None:
    keys = desk.vault.keys_for("verify")
    engine = open_engine(desk.data / DATABASE, keys.database)
    with engine.connect() as connection:
        wrapped = connection.execute(CASE_KEY.select().where(CASE_KEY.c.case_id == desk.gone)).mappings().one()["wrapped"]
    desk.delete()
    assert (desk.data / f"{DATABASE}-wal").stat().st_size == 0  # folded in at once
    with engine.connect() as connection:
        pages = connection.exec_driver_sql("SELECT group_concat(quote(wrapped)) FROM case_key").scalar_one()
        free = connection.exec_driver_sql("PRAGMA secure_delete").scalar_one()
    engine.dispose()
    assert wrapped not in pages and free == 1


def test_until_when_backups_hold_it_is_said(desk: Desk) -> None:
    desk.delete()
    made_at = desk.backups.now().files[0].manifest.made_at
    assert desk.done.held == 1
    assert desk.done.held_until is not None
    assert datetime.fromisoformat(desk.done.held_until) == datetime.fromisoformat(made_at) + timedelta(days=40)


def test_a_restore_of_a_backup_from_before_deletes_it_anew(desk: Desk, tmp_path: Path) -> None:
    desk.delete()
    folder = tmp_path / "again"
    later = FixedEnvironment(data_directory=folder, ids=900)
    restore_into(desk.backup, by_passphrase("AB", WORDS), later, folder)
    vault = Vault(FixedEnvironment(data_directory=folder, ids=1900), draws=300)
    vault.unlock("AB", WORDS)
    assert references(vault) == ["STAYS"]
    with pytest.raises(CaseDeleted):
        vault.practice.open(desk.gone)
    vault.close()


def restored(desk: Desk, folder: Path, *, places: tuple[Path, ...] = ()) -> tuple[Restorable, list[str]]:
    """Restore the backup from before as the page does: sent alone into a data directory without a record."""
    vault = Vault(FixedEnvironment(data_directory=folder, ids=900 * (1 + len(list(folder.parent.iterdir())))), draws=300)
    sent = folder / "sent"
    sent.write_bytes(desk.backup.read_bytes())
    told = vault.look_through(sent, by_passphrase("AB", WORDS), places)
    assert vault.restore(sent, by_passphrase("AB", WORDS), places) == told
    vault.unlock("AB", WORDS)
    listed = references(vault)
    vault.close()
    return told, listed


def test_a_restore_by_the_page_learns_of_deletions_from_the_list_beside_the_record(desk: Desk, tmp_path: Path) -> None:
    desk.delete()
    (lies_here,) = desk.data.glob("collum-deleted-*.json")
    (tmp_path / "again").mkdir()
    (tmp_path / "again" / lies_here.name).write_bytes(lies_here.read_bytes())
    told, listed = restored(desk, tmp_path / "again", places=places_near(tmp_path / "again", tmp_path / "nowhere"))
    assert (told.cases, told.deleted_again, told.deletions_known_until) == (1, 1, desk.done.deleted.deleted_at)
    assert listed == ["STAYS"]


def test_newer_backups_tell_of_deletions_where_no_list_does_and_a_damaged_one_is_passed(desk: Desk, tmp_path: Path) -> None:
    desk.delete()
    for _ in range(2):
        desk.later()
        desk.backups.make()
        desk.backups.wait()
    for lies_there in desk.place.glob("collum-deleted-*.json"):
        lies_there.unlink()
    newest, second = desk.backups.now().files[:2]
    told, listed = restored(desk, tmp_path / "again", places=(desk.place,))
    assert (told.deleted_again, told.deletions_known_until, listed) == (1, newest.manifest.made_at, ["STAYS"])
    content = (desk.place / newest.name).read_bytes()
    (desk.place / newest.name).write_bytes(content[:-20_000])
    told, listed = restored(desk, tmp_path / "once more", places=(desk.place,))
    assert (told.deleted_again, told.deletions_known_until, listed) == (1, second.manifest.made_at, ["STAYS"])


def test_where_nothing_tells_of_deletions_they_are_said_to_be_unknown_and_the_case_is_back(desk: Desk, tmp_path: Path) -> None:
    desk.delete()
    told, listed = restored(desk, tmp_path / "again")
    assert (told.cases, told.deleted_again, told.deletions_known_until) == (2, 0, told.manifest.made_at)
    assert listed == ["ZQX-7731", "STAYS"]


def test_a_list_that_the_keys_did_not_seal_deletes_nobody(desk: Desk, tmp_path: Path) -> None:
    desk.delete()
    (file,) = desk.place.glob("collum-deleted-*.json")
    told = json.loads(file.read_text(encoding="utf-8"))
    assert "ZQX" not in file.read_text(encoding="utf-8")
    told["cases"].append({**told["cases"][0], "case_id": desk.stays})
    file.write_text(json.dumps(told), encoding="utf-8")
    record = desk.backups.now().notes.record
    assert read_list(desk.place, record, desk.vault.keys_for("verify")) == ()


def test_a_deletion_that_was_cut_short_is_in_the_list_after_the_next_unlock(desk: Desk) -> None:
    desk.delete()
    (file,) = desk.place.glob("collum-deleted-*.json")
    file.unlink()  # as where the program was killed before it wrote it
    desk.later()
    desk.backups.opened()
    desk.backups.wait()
    assert [gone.case_id for gone in read_list(desk.place, desk.backups.now().notes.record, desk.vault.keys_for("verify"))] == [
        desk.gone
    ]


def test_it_takes_an_owner_and_the_code_of_the_case(desk: Desk) -> None:
    with pytest.raises(WrongReference):
        desk.delete("ZQX-7732")
    desk.vault.add_user(User(code="CD", role="clinician"), OTHER_WORDS)
    desk.vault.lock()
    with pytest.raises(RecordLocked):
        desk.delete()
    desk.vault.unlock("CD", OTHER_WORDS)
    with pytest.raises(NotAllowed):
        desk.delete()
    assert references(desk.vault) == ["ZQX-7731", "STAYS"]


def test_a_key_taken_out_without_a_tombstone_is_damage_and_no_deletion(desk: Desk) -> None:
    keys = desk.vault.keys_for("verify")
    desk.vault.lock()
    engine = open_engine(desk.data / DATABASE, keys.database)
    with engine.begin() as connection:
        connection.execute(CASE_KEY.delete().where(CASE_KEY.c.case_id == desk.gone))
    engine.dispose()
    desk.vault.unlock("AB", WORDS)
    with pytest.raises(StorageError):
        desk.vault.practice.open(desk.gone)
