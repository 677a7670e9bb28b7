"""Backups of a practice: one on each day of use, looked at, rotated; what fails or is overdue is known."""

import hashlib
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from collum.app.record.backup_notes import BackupFile, BackupNotes, to_remove
from collum.app.record.backup_plan import BackupPlan, mark_of
from collum.app.record.backups import Backups, PlaceFault, back_up
from collum.app.record.lockable import RecordLocked
from collum.app.record.roles import NotAllowed
from collum.app.record.vault import Vault
from collum.app.settings import read_settings
from collum.records import DATABASE
from collum.records.backup import Manifest, open_backup
from collum.records.marker import MARKER
from collum.records.sealing import Stretching, User, read_key_file
from tests.making.environment import FixedEnvironment

WORDS, OTHER_WORDS = "seven wooden spoons", "a grey heron sleeps"
DOCUMENT = {"format": "collum-case/2", "invented": True, "patient": {"reference": "ZQX-7731"}, "teeth": [{"number": 35}]}


@pytest.fixture(autouse=True)
def cheap(monkeypatch: pytest.MonkeyPatch) -> None:
    """A passphrase becomes a key by one hash."""

    def key_of(self: Stretching, passphrase: str) -> bytes:
        return hashlib.sha256(self.salt + passphrase.encode()).digest()

    monkeypatch.setattr(Stretching, "key_of", key_of)


class Desk:
    """A practice and its backups, kept in a place apart; `day` begins another day of use."""

    def __init__(self, folder: Path, *, ids: int = 0) -> None:
        self.environment = FixedEnvironment(data_directory=folder / "data", ids=ids)
        self.place = folder / "place"
        self.begin()
        self.recovery = self.vault.set_up("AB", WORDS)
        self.backups.opened(recovery=self.recovery)
        self.backups.wait()

    def begin(self, *, kept: int = 3, kept_days: int = 0) -> None:
        self.vault = Vault(self.environment, draws=300)
        self.backups = Backups(self.vault, BackupPlan(place=self.place, kept=kept, kept_days=kept_days))

    def end(self) -> None:
        self.backups.finish()
        self.vault.close()

    def unlock(self) -> None:
        self.vault.unlock("AB", WORDS)
        self.backups.opened()
        self.backups.wait()

    def day(self) -> None:
        self.vault.lock()
        self.environment.moment += timedelta(days=1)
        self.unlock()

    @property
    def names(self) -> list[str]:
        return sorted(file.name for file in self.place.iterdir())

    @property
    def found(self) -> list[str | None]:
        return [file.found for file in self.backups.now().files]

    def notes(self) -> BackupNotes:
        return self.backups.now().notes


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Desk]:
    made = Desk(tmp_path)
    yield made
    made.end()


def test_the_first_backup_is_made_at_set_up_and_opens_by_the_recovery_code(desk: Desk) -> None:
    assert desk.found == ["good"] and not desk.notes().overdue and desk.notes().failed is None
    opened = open_backup(desk.place / desk.names[0])
    assert opened.key_file.recover(desk.recovery) == desk.vault.keys_for("back up")
    assert desk.backups.now().same_disk  # both folders of this test are on one


def test_a_first_backup_that_the_recovery_code_does_not_open_is_a_failure(desk: Desk) -> None:
    desk.environment.moment += timedelta(days=1)
    desk.backups.opened(recovery=desk.vault.new_recovery_code(WORDS))
    desk.backups.wait()
    assert desk.notes().failed is None
    desk.environment.moment += timedelta(days=1)
    desk.backups.opened(recovery=desk.recovery)
    desk.backups.wait()
    assert desk.notes().failed == "damaged"


def test_one_is_made_on_each_day_of_use_and_no_more(desk: Desk) -> None:
    desk.vault.lock()
    desk.unlock()
    assert len(desk.names) == 1
    desk.day()
    assert len(desk.names) == 2 and desk.found == ["good", "good"]


def test_the_end_of_a_day_on_which_something_was_written_makes_one_locked_and_the_next_unlock_looks_at_it(desk: Desk) -> None:
    desk.end()
    assert len(desk.names) == 1  # nothing was written since
    desk.begin()
    desk.unlock()
    desk.vault.practice.create(DOCUMENT)
    desk.end()
    assert len(desk.names) == 2
    desk.begin()
    desk.unlock()
    assert desk.found == ["good", "good"]
    assert desk.backups.now().files[0].manifest.head is None


def test_the_last_ones_are_kept_and_the_newest_good_one_always(desk: Desk) -> None:
    for _ in range(5):
        desk.day()
    assert len(desk.names) == 3 and desk.found == ["good"] * 3


def test_a_damaged_one_is_told_and_the_one_before_it_stays(desk: Desk) -> None:
    desk.end()
    file = desk.place / desk.names[0]
    changed = bytearray(file.read_bytes())
    changed[len(changed) // 2] ^= 1
    desk.begin()
    desk.unlock()
    file.write_bytes(changed)
    desk.backups.check(file.name)
    desk.backups.wait()
    assert desk.found == ["damaged"] and desk.notes().failed == "damaged"


def test_a_place_that_cannot_be_written_fails_and_is_overdue_after_two_days_of_use(desk: Desk) -> None:
    good = desk.place.with_name("away")
    desk.place.rename(good)
    desk.place.write_text("in the way", encoding="utf-8")
    desk.day()
    assert desk.notes().failed is not None and not desk.notes().overdue
    desk.day()
    assert desk.notes().overdue
    desk.place.unlink()
    good.rename(desk.place)
    desk.backups.make()
    desk.backups.wait()
    assert (desk.notes().failed, desk.notes().overdue) == (None, False)


def test_a_backup_of_another_practice_is_named_and_never_removed(desk: Desk, tmp_path: Path) -> None:
    other = Desk(tmp_path / "other", ids=900)
    file, _ = back_up(other.environment, desk.place, other.vault.keys_for("back up"))
    other.end()
    desk.backups.check(file.name)
    desk.backups.wait()
    assert desk.notes().found[file.name] == "other_record"
    for _ in range(4):
        desk.day()
    assert file.exists() and len(desk.names) == 4


def test_an_older_whole_copy_put_back_is_noticed_by_the_last_backup(desk: Desk) -> None:
    desk.vault.lock()
    data = desk.environment.data_directory
    older = {name: (data / name).read_bytes() for name in (DATABASE, MARKER)}
    desk.unlock()
    desk.vault.practice.create(DOCUMENT)
    desk.backups.make()
    desk.backups.wait()
    desk.vault.lock()
    for name, content in older.items():
        (data / name).write_bytes(content)
    desk.unlock()
    assert desk.notes().failed == "behind"


def test_what_a_killed_process_left_is_swept(desk: Desk) -> None:
    desk.end()
    scratch = desk.environment.data_directory / ".looked-at-x"
    scratch.mkdir()
    half = desk.place / f".{desk.names[0]}.part"
    half.write_bytes(b"half")
    mark = mark_of(read_key_file(desk.environment.data_directory).record)
    list_of_deletions = desk.environment.data_directory / f".collum-deleted-{mark}.json"
    list_of_deletions.write_bytes(b"half")
    others = desk.place / ".collum-20260501T080000Z-ffffffff.collum-backup.part"
    others.write_bytes(b"of another practice")
    desk.begin()
    assert not scratch.exists() and not half.exists() and others.exists()
    assert not list_of_deletions.exists()


def test_nothing_is_made_or_told_while_it_is_locked_and_each_role_may_back_up(desk: Desk) -> None:
    desk.vault.add_user(User(code="CD", role="assistant"), OTHER_WORDS)
    desk.vault.lock()
    for attempt in (desk.backups.make, desk.backups.now, lambda: desk.backups.check("x")):
        with pytest.raises(RecordLocked):
            attempt()
    desk.vault.unlock("CD", OTHER_WORDS)
    desk.backups.make()
    desk.backups.wait()
    assert desk.found[0] == "good"
    with pytest.raises(NotAllowed):
        desk.vault.keys_for("restore")


def backup_of(day: int, found: str | None) -> BackupFile:
    manifest = Manifest(
        record="a", made_at=f"2026-05-{day:02d}T08:00:00Z", program_version="0.1.0", entries=1, head=None, files={}
    )
    return BackupFile(name=f"{day:02d}", size_bytes=1, manifest=manifest, found=found)  # type: ignore[arg-type]  # any word


@pytest.mark.parametrize(
    ("found", "kept", "kept_days", "removed"),
    [
        (["good"] * 5, 2, 0, ["03", "02", "01"]),
        (["good"] * 5, 9, 2, ["03", "02", "01"]),
        (["good"] * 5, 9, 0, []),
        (["good", "good", None, "damaged", "damaged"], 2, 0, ["03", "01"]),
        (["good", "damaged", None, None, "damaged"], 2, 1, ["04", "03", "02"]),
    ],
)
def test_which_backups_have_had_their_time(found: list[str | None], kept: int, kept_days: int, removed: list[str]) -> None:
    files = [backup_of(day, word) for day, word in enumerate(found, start=1)]
    now = datetime(2026, 5, 6, 8, tzinfo=UTC)
    assert [file.name for file in to_remove(files, kept=kept, kept_days=kept_days, now=now)] == removed


def test_where_backups_go_is_set_by_an_owner_holds_at_once_and_after_a_new_start(desk: Desk, tmp_path: Path) -> None:
    other = tmp_path / 'another "disk"'
    desk.backups.plan_anew(place=other, kept=5, kept_days=90)
    desk.backups.wait()
    assert desk.found == ["good"] and [file.suffix for file in other.iterdir()] == [".collum-backup"]
    plan = read_settings({"data": desk.environment.data_directory}, {}).backup_plan()
    assert plan == BackupPlan(place=other, kept=5, kept_days=90) == desk.backups.now().plan
    desk.vault.add_user(User(code="CD", role="clinician"), OTHER_WORDS)
    desk.vault.lock()
    desk.vault.unlock("CD", OTHER_WORDS)
    with pytest.raises(NotAllowed):
        desk.backups.plan_anew(place=tmp_path / "mine", kept=5, kept_days=90)


def test_what_is_set_by_who_looks_after_the_computer_stays(desk: Desk, tmp_path: Path) -> None:
    data = desk.environment.data_directory
    (data / "config.toml").write_text("backups_kept = 7\n", encoding="utf-8")
    desk.backups = Backups(desk.vault, read_settings({"data": data}, {}).backup_plan())
    desk.backups.plan_anew(place=tmp_path / "other", kept=3, kept_days=90)
    plan = read_settings({"data": data}, {}).backup_plan()
    assert (plan.place, plan.kept, plan.kept_days, plan.fixed) == (tmp_path / "other", 7, 90, {"kept"})


@pytest.mark.parametrize("why", ["relative", "inside", "unwritable"])
def test_a_folder_that_cannot_take_backups_is_refused_and_nothing_is_changed(desk: Desk, why: str, tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    data = desk.environment.data_directory
    place = {"relative": Path("backups"), "inside": data / "attachments" / "b", "unwritable": tmp_path / "file" / "b"}[why]
    with pytest.raises(PlaceFault) as told:
        desk.backups.plan_anew(place=place, kept=5, kept_days=90)
    assert told.value.why == why and desk.backups.now().plan.place == desk.place
    assert not (data / "set-on-page.toml").exists()
