"""How long cases are kept: a rule of the practice tells who is past it, an owner decides, and nothing goes by itself."""

import hashlib
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path

import pytest

from collum.app.cases.keeping import NotToCome, UnfitReason, kept_until
from collum.app.record.backups import back_up
from collum.app.record.restoring import by_passphrase
from collum.app.record.stamp import stamp_of
from collum.app.record.vault import Vault
from collum.records import CaseDeleted, UnknownRecord, inspect_record
from collum.records.engine import reading
from collum.records.opening import DATABASE, read_engine
from collum.records.sealing import Stretching
from collum.records.tables import EVENT
from tests.app.bench import Bench
from tests.making.environment import FixedEnvironment

WORDS = "seven wooden spoons"
YEAR = timedelta(days=366)


@pytest.fixture(autouse=True)
def cheap(monkeypatch: pytest.MonkeyPatch) -> None:
    """A passphrase becomes a key by one hash."""

    def key_of(self: Stretching, passphrase: str) -> bytes:
        return hashlib.sha256(self.salt + passphrase.encode()).digest()

    monkeypatch.setattr(Stretching, "key_of", key_of)


class Desk:
    """A sealed practice with two cases, the second one with a visit, and a clock that is turned on by hand."""

    def __init__(self, folder: Path) -> None:
        self.environment = FixedEnvironment(data_directory=folder / "data")
        self.vault = Vault(self.environment, draws=300)
        self.vault.set_up("AB", WORDS)
        self.old = self.vault.practice.create(
            {"format": "collum-case/2", "patient": {"reference": "OLD"}, "teeth": [{"number": 35}]}
        ).case_id
        self.wait(YEAR)
        bench = Bench(self.vault.practice)
        bench.open_visit()
        self.newer = bench.case_id

    def wait(self, time: timedelta) -> None:
        self.vault.lock()
        self.environment.moment += time
        self.environment.ids += 100  # the practice counts its ids in a copy of its own
        self.vault.unlock("AB", WORDS)

    def past(self) -> list[str]:
        return [case.case_id for case in self.vault.practice.keeping.now().past]

    def listed(self) -> set[str]:
        return {case.case_id for case in self.vault.practice.cases()}

    def trail(self) -> list[tuple[str, str]]:
        engine = read_engine(self.environment.data_directory / DATABASE, self.vault.keys_for("verify"), unshared=False)
        with reading(engine) as connection:
            found = [(row.action, row.author) for row in connection.execute(EVENT.select().order_by(EVENT.c.number))]
        engine.dispose()
        return found


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Desk]:
    made = Desk(tmp_path)
    yield made
    made.vault.close()


@pytest.mark.parametrize(
    ("last", "years", "decided", "until"),
    [
        ("2026-05-01T23:59:59Z", 10, None, "2036-05-01"),
        ("2024-02-29T08:00:00Z", 10, None, "2034-03-01"),
        ("2024-02-29T08:00:00Z", 4, None, "2028-02-29"),
        ("2026-05-01T08:00:00Z", 10, "2036-05-02", "2036-05-02"),
        ("2026-05-01T08:00:00Z", 10, "2030-01-01", "2036-05-01"),  # the rule is the least
        ("9950-05-01T08:00:00Z", 100, None, "9999-05-01"),
    ],
)
def test_until_when_a_case_is_kept(last: str, years: int, decided: str | None, until: str) -> None:
    assert kept_until(last, years, decided) == until


def test_without_a_rule_nothing_is_past_and_with_one_the_day_after_is(desk: Desk) -> None:
    desk.wait(200 * YEAR)
    assert desk.past() == []
    desk.vault.practice.keeping.set_rule(100)
    assert desk.past() == [desk.old, desk.newer]
    assert desk.listed() == {desk.old, desk.newer}  # nothing goes by itself
    desk.vault.practice.keeping.set_rule(0)
    assert desk.past() == []


def test_the_time_runs_from_the_last_entry_to_the_end_of_its_day(desk: Desk) -> None:
    keeping = desk.vault.practice.keeping
    keeping.set_rule(2)
    (old,) = [case for case in keeping.now().cases if case.case_id == desk.old]
    assert (old.until, desk.past()) == ("2028-05-01", [])
    desk.vault.practice.store_plan(desk.old, revision=1)  # a year and a day later
    (old,) = [case for case in desk.vault.practice.keeping.now().cases if case.case_id == desk.old]
    assert old.until == "2029-05-02"
    for now, past in (("2029-05-02", []), ("2029-05-03", [desk.old, desk.newer])):
        desk.wait(date.fromisoformat(now) - desk.environment.moment.date())
        assert desk.past() == past


def test_a_case_is_kept_longer_for_a_reason_which_is_in_the_trail_and_sealed(desk: Desk) -> None:
    desk.vault.practice.keeping.set_rule(1)
    desk.wait(2 * YEAR)
    keeping = desk.vault.practice.keeping
    assert desk.past() == [desk.old, desk.newer]
    today = desk.environment.moment.date()
    with pytest.raises(NotToCome):
        keeping.keep(desk.old, today, "a claim is open")
    for reason in ("  a ", "x" * 201):
        with pytest.raises(UnfitReason):
            keeping.keep(desk.old, today + YEAR, reason)
    with pytest.raises(UnknownRecord):
        keeping.keep("nowhere", today + YEAR, "a claim is open")
    keeping.keep(desk.old, today + YEAR, "a claim is open ZQX-7731")
    assert desk.past() == [desk.newer]
    assert desk.trail()[-1] == ("case kept on", "AB") and ("keeping set", "AB") in desk.trail()
    assert "ZQX-7731" in desk.vault.practice.store.everything_of(desk.old).kept[0].reason
    keys = desk.vault.keys_for("verify")
    assert inspect_record(desk.environment.data_directory, None, keys).faults == ()
    desk.vault.lock()
    held = b"".join(file.read_bytes() for file in desk.environment.data_directory.rglob("*") if file.is_file())
    assert b"ZQX-7731" not in held
    desk.wait(YEAR + timedelta(days=1))
    assert desk.past() == [desk.newer, desk.old]  # its new time is over too


def test_a_deleted_case_is_past_nothing_and_is_not_kept_on(desk: Desk) -> None:
    keeping = desk.vault.practice.keeping
    keeping.set_rule(1)
    keeping.keep(desk.old, desk.environment.moment.date() + 5 * YEAR, "a claim is open")
    desk.vault.practice.store.delete_case(desk.old, "retention ended", stamp_of(desk.environment))
    desk.wait(9 * YEAR)
    assert desk.past() == [desk.newer]
    with pytest.raises(CaseDeleted):
        desk.vault.practice.keeping.keep(desk.old, desk.environment.moment.date() + YEAR, "a claim is open")


def test_a_restore_is_no_entry_and_the_rule_comes_back_with_the_record(desk: Desk, tmp_path: Path) -> None:
    desk.vault.practice.keeping.set_rule(1)
    before = {case.case_id: case.until for case in desk.vault.practice.keeping.now().cases}
    file, _ = back_up(desk.environment, tmp_path / "place", desk.vault.keys_for("back up"))
    later = FixedEnvironment(data_directory=tmp_path / "again", ids=900, moment=desk.environment.moment + 5 * YEAR)
    vault = Vault(later, draws=300)
    vault.restore(file, by_passphrase("AB", WORDS))
    vault.unlock("AB", WORDS)
    assert vault.practice.open(desk.newer).revision == 3  # the visit was made history by a save of its own
    found = vault.practice.keeping.now()
    assert {case.case_id: case.until for case in found.cases} == before and len(found.past) == 2
    vault.close()
