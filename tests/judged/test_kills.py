"""Killed at random moments of its writes the program loses nothing it confirmed: a small twin in every run, 360 by campaign."""

import json
import os
import time
from pathlib import Path

import pytest

import collum
from campaigns.kills import judge, killed
from campaigns.kills_backup import killed_at_backups
from campaigns.kills_day import Under

HTTP_KILLS, COMMAND_KILLS, SEED = 300, 60, 20_261
TWIN_HTTP_KILLS, TWIN_COMMAND_KILLS = 10, 3
BACKUP_KILLS, TWIN_BACKUP_KILLS = 60, 3
RESULT = Path(__file__).resolve().parents[2] / "docs" / "results" / "kills.json"
BACKUP_RESULT = RESULT.with_name("kills_backup.json")
posix = pytest.mark.skipif(os.name == "nt", reason="forks and kills")


@pytest.mark.slow
@posix
def test_small_twin(tmp_path: Path) -> None:
    found = killed(tmp_path, TWIN_HTTP_KILLS, TWIN_COMMAND_KILLS, SEED + 1)
    assert [fault for outcome in found.values() for fault in outcome.faults] == []
    assert sum(outcome.kills for outcome in found.values()) == TWIN_HTTP_KILLS + TWIN_COMMAND_KILLS
    assert found["over HTTP"].confirmed > TWIN_HTTP_KILLS  # it was killed in the middle of work, not before it


@pytest.mark.slow
@posix
def test_small_twin_of_backups(tmp_path: Path) -> None:
    found = killed_at_backups(tmp_path / "backups", TWIN_BACKUP_KILLS, SEED + 1)
    assert {name: outcome.faults for name, outcome in found.items()} == {"backup": [], "restore": []}


@pytest.mark.campaign
@pytest.mark.timeout(7200)
@posix
def test_backups_full_size(tmp_path: Path) -> None:
    found = killed_at_backups(tmp_path / "backups", BACKUP_KILLS, SEED)
    result = {
        "what": "kills at random moments of a backup and of a restore: what was before or what was to be, never half of it",
        "date": time.strftime("%Y-%m-%d", time.gmtime()),
        "program_version": collum.__version__,
        "seed": SEED,
        **{name: outcome.as_json() for name, outcome in found.items()},
    }
    BACKUP_RESULT.write_text(json.dumps(result, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
    assert [fault for outcome in found.values() for fault in outcome.faults] == []


@pytest.mark.campaign
@pytest.mark.timeout(7200)
@posix
def test_full_size(tmp_path: Path) -> None:
    found = killed(tmp_path, HTTP_KILLS, COMMAND_KILLS, SEED)
    result = {
        "what": "kills at random moments of writes: all that was confirmed is there once, and nothing else",
        "date": time.strftime("%Y-%m-%d", time.gmtime()),
        "program_version": collum.__version__,
        "seed": SEED,
        **{name: outcome.as_json() for name, outcome in found.items()},
    }
    RESULT.write_text(json.dumps(result, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
    assert [fault for outcome in found.values() for fault in outcome.faults] == []


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
