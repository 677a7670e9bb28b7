"""Everything on one person given out and taken in: exact, sealed, and of no weight here. Hostile archives are refused whole."""

import hashlib
import io
import json
import stat
import zipfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from collum.app.cases import person_archive
from collum.app.cases.attachments import MOST_THUMBNAIL, AttachmentRefused, Told
from collum.app.cases.person_archive import give_out, take_in
from collum.app.practice import OpenCase
from collum.app.record.vault import Vault, WeakPassphrase
from collum.app.safety.gate import NotCleared
from collum.records import StorageError, bounded_zip, inspect_record
from collum.records.bounded_zip import ArchiveFault
from collum.records.sealing import Stretching
from collum.records.sealing.stream import CHUNK_BYTES
from tests.app.bench import Bench
from tests.making.environment import FixedEnvironment

WORDS, OF_ARCHIVE = "seven wooden spoons", "a grey heron sleeps"
FILM = b"\x89PNG\r\n\x1a\n" + np.random.default_rng(13).bytes(3 * CHUNK_BYTES)
LETTER = "Überweisung\n".encode()


@pytest.fixture(autouse=True, scope="module")
def cheap() -> Iterator[None]:
    """A passphrase becomes a key by one hash."""

    def key_of(self: Stretching, passphrase: str) -> bytes:
        return hashlib.sha256(self.salt + passphrase.encode()).digest()

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Stretching, "key_of", key_of)
        yield


class Desk:
    """A practice with a person of whom everything there can be is recorded, and a second practice."""

    def __init__(self, folder: Path) -> None:
        self.vault, self.other = (
            Vault(FixedEnvironment(data_directory=folder / name, ids=ids), draws=300) for name, ids in (("a", 1), ("b", 5_000))
        )
        self.vault.set_up("AB", WORDS)
        self.other.set_up("XY", WORDS)
        self.bench = Bench(self.vault.practice)
        self.bench.open_visit()
        self.bench.answer()
        self.plan_id = self.bench.plan()
        self.bench.issue(self.plan_id)
        self.vault.practice.paper(self.plan_id, "restoration-sheet")
        files, self.case_id = self.vault.practice.attachments, self.bench.case_id
        told = Told(name="Zahn ü.png", kind="radiograph", taken_on="2026-04-30", note="before")
        files.add(self.case_id, io.BytesIO(FILM), told)
        gone = files.add(self.case_id, io.BytesIO(LETTER), Told(name="letter", kind="letter"))
        files.remove(self.case_id, gone.id, "of another person")
        self.sealed, self.clear = self.given(OF_ARCHIVE), self.given(None)

    def given(self, passphrase: str | None) -> bytes:
        return b"".join(give_out(self.vault.practice, self.case_id, passphrase))

    def taken(self, archive: bytes, passphrase: str | None = OF_ARCHIVE, *, sealed_record: bool = True) -> OpenCase:
        return take_in(self.other.practice, io.BytesIO(archive), passphrase, sealed_record=sealed_record)

    def refused(self, archive: bytes, passphrase: str | None = OF_ARCHIVE, *, sealed_record: bool = True) -> str:
        """Return why an archive is refused, and check that nothing of it was kept."""
        before, folder = self.other.practice.cases(), self.other.environment.data_directory
        kept = set((folder / "attachments").glob("*"))
        with pytest.raises(ArchiveFault) as found:
            self.taken(archive, passphrase, sealed_record=sealed_record)
        assert self.other.practice.cases() == before
        assert set((folder / "attachments").glob("*")) == kept
        return found.value.trouble

    def whole(self, vault: Vault) -> bool:
        return inspect_record(vault.environment.data_directory, None, vault.keys_for("verify")).faults == ()


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory, cheap: None) -> Iterator[Desk]:
    made = Desk(tmp_path_factory.mktemp("person"))
    yield made
    made.vault.close()
    made.other.close()


def contents(archive: bytes) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(archive)) as opened:
        return {name: opened.read(name) for name in opened.namelist()}


def packed(files: dict[str, bytes], manifest: bool = True, method: int = zipfile.ZIP_STORED) -> bytes:
    """Return an archive of files, its manifest made to fit them."""
    told = json.loads(files["manifest.json"])
    if manifest:
        told["files"] = {
            name: {"size": len(held), "sha256": hashlib.sha256(held).hexdigest()}
            for name, held in files.items()
            if name != "manifest.json"
        }
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", method) as archive:
        for name, held in (files | {"manifest.json": json.dumps(told).encode()}).items():
            archive.writestr(zipfile.ZipInfo(name), held, method)
    return out.getvalue()


def test_what_was_given_out_comes_in_byte_for_byte(desk: Desk) -> None:
    record = desk.vault.practice.store.everything_of(desk.case_id)
    held = contents(desk.clear)
    history = json.loads(held["history.json"])
    assert held["case.json"].decode() == record.revisions[-1].document
    assert [one["document"] for one in history["revisions"]] == [one.document for one in record.revisions]
    assert [one["result"] for one in history["plans"]] == [desk.vault.practice.stored_plan(desk.plan_id).result]
    assert [one["document"] for one in history["answers"]] == [one.document for one in record.answers] != []
    assert len(history["cards"]) == 1 and len(record.revisions) == 6
    written = [event["action"] for event in history["events"]]
    expected = {
        "case made",
        "case saved",
        "plan stored",
        "answer stored",
        "card issued",
        "attachment added",
        "attachment removed",
    }
    assert set(written) >= expected

    taken = desk.taken(desk.sealed)
    practice = desk.other.practice
    assert taken.document["teeth"] == desk.bench.document["teeth"]
    attached = practice.attachments.of_case(taken.case_id)
    given = [b"".join(practice.attachments.read(taken.case_id, one.id)[1]) for one in attached]
    assert given[:2] == [FILM, LETTER]
    film, letter, old = attached
    assert (film.label.name, film.label.kind, film.label.taken_on, film.label.note) == (
        "Zahn ü.png",
        "radiograph",
        "2026-04-30",
        "before",
    )
    assert letter.removed is not None and letter.removed.reason == "of another person"
    assert old.label.note is not None and old.label.note.startswith("Foreign")
    brought = json.loads(given[2])
    assert [brought[name] for name in ("revisions", "plans", "cards", "rounds")] == [
        history[name] for name in ("revisions", "plans", "cards", "rounds")
    ]
    again = contents(b"".join(give_out(practice, taken.case_id, None)))
    assert [again[f"files/000{number}"] for number in range(3)] == given


def test_files_keep_their_order_whatever_ids_they_get(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    ids = iter(f"01a00000-0000-7000-8000-{number:012d}" for number in range(90, 0, -1))
    monkeypatch.setattr(FixedEnvironment, "new_id", lambda _: next(ids))
    taken = desk.taken(desk.sealed)
    assert [one.label.name for one in desk.other.practice.attachments.of_case(taken.case_id)][:2] == ["Zahn ü.png", "letter"]


def test_foreign_answers_clear_nothing_and_foreign_events_are_not_ours(desk: Desk) -> None:
    taken = desk.taken(desk.sealed)
    practice = desk.other.practice
    assert all("opened_at" not in visit for visit in taken.document["visits"])
    plan = practice.store_plan(taken.case_id, revision=1)
    with pytest.raises(NotCleared):
        practice.paper(plan.id, "chairside-card")
    events = practice.store.everything_of(taken.case_id).events
    assert {event["author"] for event in events} == {"XY"}
    assert "card issued" not in {event["action"] for event in events}
    assert "person taken in" in {event["action"] for event in events}
    assert desk.whole(desk.other)


def test_what_is_given_out_is_in_the_trail(desk: Desk) -> None:
    given = [event["action"] for event in desk.vault.practice.store.everything_of(desk.case_id).events]
    assert given.count("person given out sealed") == 1 and "person given out in clear" in given
    assert desk.whole(desk.vault)


def test_the_sealed_one_tells_nothing_and_takes_a_long_passphrase(desk: Desk) -> None:
    reference = desk.bench.document["patient"]["reference"].encode()
    for telling in (reference, b"history.json", FILM[:200], LETTER):
        assert telling in desk.clear and telling not in desk.sealed
    with pytest.raises(WeakPassphrase):
        desk.given("short")


def test_another_passphrase_opens_nothing(desk: Desk) -> None:
    assert desk.refused(desk.sealed, WORDS) == "wrong_passphrase"
    assert desk.refused(desk.sealed, None) == "sealed"
    assert desk.refused(desk.sealed, sealed_record=False) == "clear_record"


def test_a_byte_changed_a_cut_end_or_another_form_is_found(desk: Desk) -> None:
    head = desk.sealed.index(b"\n", 20) + 1
    for at in (head, head + 30, head + 50, len(desk.sealed) // 2, len(desk.sealed) - 1):
        changed = bytearray(desk.sealed)
        changed[at] ^= 1
        assert desk.refused(bytes(changed)) == "damaged", at
    assert desk.refused(desk.sealed[:-1]) == "damaged"
    assert desk.refused(desk.sealed[: head + 37]) == "damaged"
    assert desk.refused(b"collum-person/2\n" + desk.sealed[16:]) == "newer_version"
    assert desk.refused(b"collum-person/1\n{}\n") == "damaged"
    assert desk.refused(desk.clear[:-1]) == "not_an_archive"
    assert desk.refused(b"") == "not_an_archive"
    changed = bytearray(desk.clear)
    changed[desk.clear.index(FILM) + 500] ^= 1
    assert desk.refused(bytes(changed)) == "damaged"


def with_entry(name: str, kind: int = stat.S_IFREG) -> Callable[[dict[str, bytes]], bytes]:
    def changed(files: dict[str, bytes]) -> bytes:
        out = io.BytesIO(packed(files))
        with zipfile.ZipFile(out, "a") as archive:
            entry = zipfile.ZipInfo(name)
            entry.external_attr = (kind | 0o777) << 16
            archive.writestr(entry, b"../../etc/passwd")
        return out.getvalue()

    return changed


def manifest_with(change: Callable[[Any], Any]) -> Callable[[dict[str, bytes]], bytes]:
    def changed(files: dict[str, bytes]) -> bytes:
        told = json.loads(files["manifest.json"])
        change(told)
        return packed(files | {"manifest.json": json.dumps(told).encode()}, manifest=False)

    return changed


def left_out(name: str) -> Callable[[dict[str, bytes]], bytes]:
    return lambda files: packed({key: held for key, held in files.items() if key != name}, manifest=False)


def blown_up(files: dict[str, bytes]) -> bytes:
    return packed(files | {"history.json": b" " * 5_000_000}, method=zipfile.ZIP_DEFLATED)


def lying_about_size(files: dict[str, bytes]) -> bytes:
    """Return an archive whose list says that its history is 3 GB."""
    made = bytearray(packed(files))
    at = made.rindex(b"PK\x01\x02", 0, made.rindex(b"history.json"))
    made[at + 24 : at + 28] = (3_000_000_000).to_bytes(4, "little")
    made[at + 20 : at + 24] = (3_000_000_000).to_bytes(4, "little")
    return bytes(made)


def of_many(files: dict[str, bytes]) -> bytes:
    return packed(files | {f"files/{number:04d}": b"x" for number in range(2, bounded_zip.MOST_ENTRIES)})


HOSTILE: dict[str, tuple[Callable[[dict[str, bytes]], bytes], str]] = {
    "out of the folder": (with_entry("../keys.json"), "names"),
    "out of the folder of files": (with_entry("files/../../keys.json"), "names"),
    "absolute": (with_entry("/etc/passwd"), "names"),
    "a drive": (with_entry("C:\\keys.json"), "names"),
    "a folder": (with_entry("files/"), "names"),
    "a nought in the name": (lambda files: with_entry("files/0002#p")(files).replace(b"0002#p", b"0002\0p"), "names"),
    "a link": (with_entry("files/0002", stat.S_IFLNK), "names"),
    "ratio": (blown_up, "ratio"),
    "declared size": (lying_about_size, "too_large"),
    "too many": (of_many, "too_many"),
    "one more than listed": (with_entry("files/0009"), "damaged"),
    "one missing": (left_out("files/0001"), "damaged"),
    "no manifest": (lambda files: packed(files).replace(b"manifest.json", b"files/0008\0\0\0"), "names"),
    "a manifest of another version": (manifest_with(lambda told: told.update(format="collum-person/2")), "newer_version"),
    "a manifest with more": (manifest_with(lambda told: told.update(more=1)), "damaged"),
    "a hash of another file": (manifest_with(lambda told: told["files"]["case.json"].update(sha256="0" * 64)), "damaged"),
    "a file named twice": (manifest_with(lambda told: told["attachments"].append(told["attachments"][0])), "damaged"),
    "the case as a file": (manifest_with(lambda told: told["attachments"][0].update(file="case.json")), "damaged"),
}


@pytest.mark.parametrize("what", HOSTILE)
def test_a_hostile_archive_is_refused_whole(desk: Desk, what: str) -> None:
    make, trouble = HOSTILE[what]
    assert desk.refused(make(contents(desk.clear)), None) == trouble


@pytest.mark.filterwarnings("ignore:Duplicate name")
def test_one_name_twice_is_refused(desk: Desk) -> None:
    assert desk.refused(with_entry("case.json")(contents(desk.clear)), None) == "names"


def test_an_archive_that_is_too_large_is_refused_before_its_list_is_read(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(bounded_zip, "MOST_ARCHIVE_BYTES", len(desk.clear) - 1)
    monkeypatch.setattr(zipfile, "ZipFile", None)
    assert desk.refused(desk.clear, None) == "too_large"


def test_an_end_that_tells_of_fewer_entries_does_not_help(desk: Desk) -> None:
    made = bytearray(of_many(contents(desk.clear)))
    made[-14:-10] = made[-12:-10] * 0 + (7).to_bytes(2, "little") * 2
    assert desk.refused(bytes(made), None) == "too_many"


def test_a_file_that_no_case_takes_refuses_the_whole(desk: Desk) -> None:
    before = desk.other.practice.cases()
    with pytest.raises(AttachmentRefused):
        desk.taken(packed(contents(desk.clear) | {"files/0001": b"MZ\0\0" * 30}), None)
    assert desk.other.practice.cases() == before


def test_what_fails_half_way_leaves_nothing(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    before, folder = desk.other.practice.cases(), desk.other.environment.data_directory
    kept = set((folder / "attachments").glob("*"))

    def full(*_: object) -> None:
        raise StorageError("full")

    monkeypatch.setattr("collum.records.attachments._add_rows", full)
    with pytest.raises(StorageError):
        desk.taken(desk.sealed)
    assert desk.other.practice.cases() == before and set((folder / "attachments").glob("*")) == kept


def test_a_damaged_file_stops_it_before_anything_is_given(desk: Desk) -> None:
    folder = desk.vault.environment.data_directory / "attachments"
    file = max(folder.iterdir(), key=lambda one: one.stat().st_size)
    held = file.read_bytes()
    file.write_bytes(held[:-1])
    try:
        with pytest.raises(StorageError):
            give_out(desk.vault.practice, desk.case_id, OF_ARCHIVE)
    finally:
        file.write_bytes(held)


def test_the_bounds_of_what_comes_in_hold_what_goes_out() -> None:
    assert person_archive._MOST_MANIFEST_BYTES >= bounded_zip.MOST_ENTRIES * 1.5 * MOST_THUMBNAIL
