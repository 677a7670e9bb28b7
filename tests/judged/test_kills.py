"""Killed at random moments of its work the program loses nothing it confirmed: a small twin in every run, the rest by campaign.

Over HTTP by kills of a server, by command, while backups are made and restored, and while a whole record is changed: sealed,
a passphrase, a recovery code, users, a case deleted, a person taken in.
"""

import json
import os
import time
from collections.abc import Iterator, Mapping
from pathlib import Path

import pytest

import collum
from campaigns.kills import Nursery, Outcome, judge, killed, new_nursery
from campaigns.kills_acts import ACTS
from campaigns.kills_backup import killed_at_backups
from campaigns.kills_day import Under
from campaigns.kills_record import killed_at_acts, stopped_at_each_step

SEED = 20_261
KILLS = {"clear": 300, "sealed": 120, "commands": 60}
TWIN_KILLS = {"clear": 0, "sealed": 10, "commands": 3}
BACKUP_KILLS, TWIN_BACKUP_KILLS = 60, 3
ACT_KILLS = {
    "conversion": 60,
    "passphrase": 60,
    "recovery code": 15,
    "user added": 15,
    "user removed": 15,
    "deletion": 60,
    "import": 30,
}
TWIN_ACT_KILLS = dict.fromkeys(("conversion", "deletion"), 2)
ACT_CASES, TWIN_ACT_CASES = 6, 2
RESULTS = Path(__file__).resolve().parents[2] / "docs" / "results"
pytestmark = pytest.mark.skipif(os.name == "nt", reason="forks and kills")


@pytest.fixture(scope="module")
def nursery() -> Iterator[Nursery]:
    with new_nursery() as made:
        yield made


def faults_of(found: Mapping[str, Outcome]) -> list[str]:
    return [f"{name}, {fault}" for name, outcome in found.items() for fault in outcome.faults]


def keep_result(name: str, what: str, found: Mapping[str, Outcome], **more: object) -> None:
    result = {
        "what": what,
        "date": time.strftime("%Y-%m-%d", time.gmtime()),
        "program_version": collum.__version__,
        "seed": SEED,
        **{name: outcome.as_json() for name, outcome in found.items()},
        **more,
    }
    (RESULTS / f"{name}.json").write_text(json.dumps(result, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")


@pytest.mark.slow
def test_small_twin(nursery: Nursery, tmp_path: Path) -> None:
    found = killed(nursery, tmp_path, SEED + 1, **TWIN_KILLS)
    assert faults_of(found) == []
    assert sum(outcome.kills for outcome in found.values()) == sum(TWIN_KILLS.values())
    assert found["over HTTP, sealed"].confirmed > TWIN_KILLS["sealed"]  # it was killed in the middle of work, not before it


@pytest.mark.slow
def test_small_twin_of_backups(nursery: Nursery, tmp_path: Path) -> None:
    assert faults_of(killed_at_backups(nursery, tmp_path / "backups", TWIN_BACKUP_KILLS, SEED + 1)) == []


@pytest.mark.slow
def test_small_twin_of_what_is_done_to_a_whole_record(nursery: Nursery, tmp_path: Path) -> None:
    found = killed_at_acts(nursery, tmp_path, TWIN_ACT_KILLS, TWIN_ACT_CASES, SEED + 1)
    assert faults_of(found) == [] and set(found) == set(TWIN_ACT_KILLS)


@pytest.mark.slow
def test_stopped_before_any_of_its_steps_a_record_is_what_it_was_or_what_it_was_to_be(tmp_path: Path) -> None:
    for act in ACTS:  # a record to be sealed has one case: each of its files is five steps
        states, done, faults = stopped_at_each_step(tmp_path, act, cases=1 if ACTS[act].clear else TWIN_ACT_CASES)
        assert faults == [] and 0 < done < states, act


@pytest.mark.campaign
@pytest.mark.timeout(7200)
def test_full_size(nursery: Nursery, tmp_path: Path) -> None:
    found = killed(nursery, tmp_path, SEED, **KILLS)
    what = "kills at random moments of writes: all that was confirmed is there once, and nothing else"
    keep_result("kills", what, found)
    assert faults_of(found) == []


@pytest.mark.campaign
@pytest.mark.timeout(7200)
def test_backups_full_size(nursery: Nursery, tmp_path: Path) -> None:
    found = killed_at_backups(nursery, tmp_path / "backups", BACKUP_KILLS, SEED)
    what = "kills at random moments of a backup and of a restore: what was before or what was to be, never half of it"
    keep_result("kills_backup", what, found)
    assert faults_of(found) == []


@pytest.mark.campaign
@pytest.mark.timeout(7200)
def test_acts_full_size(nursery: Nursery, tmp_path: Path) -> None:
    found = killed_at_acts(nursery, tmp_path, ACT_KILLS, ACT_CASES, SEED)
    what = "kills at random moments of what is done to a whole record: what was before or what was to be, never half of it"
    keep_result("kills_record", what, found)
    assert faults_of(found) == []


def test_the_judge_sees_what_is_lost_doubled_halved_or_never_asked_for() -> None:
    one, two = ("revision", "case", 1, "{}"), ("revision", "case", 2, "{}")
    end = Under("the end of a round", [("end", "r"), ("revision", "case", 2)])
    assert judge([one], {one}, end) == ([], False)
    assert judge([one, two, ("end", "r")], {one}, end) == ([], True)
    assert judge([one, ("plan", "p")], {one}, Under("a plan", [("plan", "?")])) == ([], True)
    for found, confirmed, under in (
        ([], {one}, None),  # lost
        ([one, one], {one}, None),  # twice
        ([one, two], {one}, end),  # half of it
        ([one, two], {one}, None),  # nobody asked
        ([one, ("revision", "case", 2, '{"a": 1}'), two], {one, two}, None),  # other content beside
        ([("revision", "case", 1, "changed")], {one}, None),
    ):
        assert judge(found, confirmed, under)[0], (found, confirmed)
