"""The program is killed at random moments of its writes; afterwards everything confirmed is there once, and nothing else.

A client works through cases as a day at the chair does: made, saved, a visit opened and answered, a plan, a card, a round
with its lines and its end. The server is killed while one of these is under way; that one may have been kept, whole, or not.
The record, a demo or a sealed one, is read by SQLite alone, not by the store under test, and then served and worked on again.
By command, the demo practice is killed while it is filled. A kill says nothing about flushing: the pages of the system outlive
the process.
"""

import json
import os
import signal
import sqlite3
import subprocess
import sys
import time
from base64 import b64decode
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass, field
from http.client import HTTPConnection
from pathlib import Path
from threading import Timer
from typing import Any

import numpy as np
from numpy.random import Generator
from sqlcipher3 import dbapi2 as sqlcipher

from campaigns.kills_acts import OWNER, WORDS
from campaigns.kills_day import Client, Day, Fact, Json, Killed, Under, case_document, content_of
from collum.app.record.data_directory import mark_as_demo
from collum.app.record.vault import opened_vault
from collum.records import DATABASE, inspect_record
from collum.records.sealing import Keys, Place, open_payload, unwrap_key
from tests.making.environment import FixedEnvironment
from tests.measuring.passphrases import cheap_passphrases

ROOT = Path(__file__).resolve().parents[1]
MOST_STEPS = 40
_REVISIONS = """SELECT id, revision.case_id, number, document, wrapped FROM case_revision AS revision
LEFT JOIN case_key ON case_key.case_id = revision.case_id"""


@dataclass(slots=True)
class Outcome:
    """What came of a number of kills."""

    kills: int = 0
    confirmed: int = 0
    under_way: Counter[str] = field(default_factory=Counter)
    kept: Counter[str] = field(default_factory=Counter)
    faults: list[str] = field(default_factory=list)

    def as_json(self) -> Json:
        return {
            "kills": self.kills,
            "writes_confirmed": self.confirmed,
            "under_way": dict(sorted(self.under_way.items())),
            "of_these_kept_whole": dict(sorted(self.kept.items())),
            "faults": self.faults,
        }


def _kill(process: int) -> None:
    with suppress(ProcessLookupError):  # it ended meanwhile
        os.kill(process, signal.SIGKILL)


class Nursery:
    """Starts commands of the program in processes that cost no imports."""

    def __init__(self) -> None:
        self._process = subprocess.Popen(
            [sys.executable, "-m", "campaigns.kills_nursery"],
            cwd=ROOT,
            env={**os.environ, "OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"},
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
        )
        assert self._said() == {"ready": True}

    def start(self, *arguments: object) -> int:
        """Start a command; return its process."""
        assert self._process.stdin is not None
        print(json.dumps([str(argument) for argument in arguments]), file=self._process.stdin, flush=True)
        return int(self._said()["pid"])

    def line(self) -> str:
        """Return what the command prints next: a workbench its link, an act that it begins."""
        assert self._process.stdout is not None
        return self._process.stdout.readline().strip()

    def finished(self, process: int, kill_after_s: float | None) -> tuple[float, list[str]]:
        """Wait for the end of a command, killed after a while or not; return how long it took and what it printed."""
        began_s = time.monotonic()
        timer = Timer(kill_after_s or 0, _kill, (process,))
        if kill_after_s is not None:
            timer.start()
        status, printed = self.ended()
        timer.cancel()
        assert status == 0 or (kill_after_s is not None and status == -signal.SIGKILL), (status, printed)
        return time.monotonic() - began_s, printed

    def ended(self) -> tuple[int, list[str]]:
        """Wait for the end of the command; return its status and what it printed."""
        assert self._process.stdout is not None
        printed: list[str] = []
        for line in self._process.stdout:
            if line.startswith('{"ended"'):
                return int(json.loads(line)["ended"]), printed
            printed.append(line)
        raise AssertionError("the nursery ended")

    def close(self) -> None:
        self._process.communicate(timeout=60)

    def _said(self) -> Json:
        assert self._process.stdout is not None
        return dict(json.loads(self._process.stdout.readline()))


def sealed_practice(folder: Path, cases: int = 0) -> tuple[Keys, str]:
    """Set up a sealed practice that is locked, with some cases; return its keys and its recovery code."""
    with cheap_passphrases(), opened_vault(FixedEnvironment(data_directory=folder), draws=100) as vault:
        code = vault.set_up(OWNER, WORDS)
        for _ in range(cases):
            vault.practice.create(case_document())
        return vault.keys_for("back up"), code


def facts_in(folder: Path, keys: Keys | None = None) -> list[Fact]:
    """Return every row of a record that was left by a killed program, read by SQLite alone and opened by the keys."""
    with closing(_connected(folder, keys)) as connection:
        assert connection.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        assert connection.execute("PRAGMA foreign_key_check").fetchall() == []
        found: list[Fact] = [
            ("revision", case, number, content_of(json.loads(_opened(keys, case, number, row_id, document, wrapped))))
            for row_id, case, number, document, wrapped in connection.execute(_REVISIONS)
        ]
        for kind in ("case", "plan", "card", "round"):
            found += [(kind, *row) for row in connection.execute(f'SELECT id FROM "{kind}"')]
        found += [("mark", *row) for row in connection.execute("SELECT round_id, key FROM round_event")]
        found += [("end", *row) for row in connection.execute("SELECT round_id FROM round_end")]
    return found


def _connected(folder: Path, keys: Keys | None) -> Any:
    address = f"file:{folder / DATABASE}?mode=ro"
    if keys is None:
        return sqlite3.connect(address, uri=True)
    connection = sqlcipher.connect(address, uri=True)
    connection.execute(f"PRAGMA key = \"x'{keys.database.hex()}'\"")
    return connection


def _opened(keys: Keys | None, case_id: str, number: int, row_id: str, document: str, wrapped: str | None) -> str:
    """Return a document in clear: sealed under the key of its case, which is wrapped by that of the record."""
    if keys is None or wrapped is None:
        return document
    key = unwrap_key(keys.case_wrap, b64decode(wrapped), f"case {case_id}".encode())
    return open_payload(key, document, Place(table="case_revision", column="document", id=row_id, version=number))


def judge(found: list[Fact], confirmed: set[Fact], under: Under | None) -> tuple[list[str], bool]:
    """Return what is wrong, and whether what was under way had been kept."""
    faults = [f"twice: {fact[:3]}" for fact, times in Counter(found).items() if times > 1]
    faults += [f"lost: {fact[:3]}" for fact in sorted(confirmed - set(found), key=str)]
    more = Counter(_shape(fact, under) for fact in set(found) - confirmed)
    if not more:
        return faults, False
    wanted = Counter(under.adds if under is not None else [])
    if more != wanted:
        faults.append(f"nobody asked for {sorted(map(str, more))}, under way was {under}")
    return faults, True


def _shape(fact: Fact, under: Under | None) -> Fact:
    """Return a fact as the write under way would name it: without content, and without ids it could not know."""
    adds = under.adds if under is not None else []
    bare = fact[:3] if fact[0] == "revision" else fact
    if bare in adds:
        return bare
    return ("revision", "?", fact[2]) if fact[0] == "revision" else (fact[0], "?")


def over_http(nursery: Nursery, folder: Path, kills: int, rng: Generator, *, sealed: bool) -> Outcome:
    """Kill a server `kills` times at a random moment of a random write, and judge what it left each time."""
    outcome, confirmed = Outcome(), set[Fact]()
    document, keys = case_document(), None
    if sealed:
        keys, _code = sealed_practice(folder)
    else:
        mark_as_demo(folder)
    durations_s: dict[int, float] = {}
    for _ in range(kills):
        with _served(nursery, folder, sealed=sealed) as (client, process):
            day = Day(confirmed)
            steps = day.steps(client, document)
            last = int(rng.integers(MOST_STEPS // 2))
            try:
                for step in range(last):
                    began_s = time.monotonic()
                    next(steps)
                    durations_s[step] = time.monotonic() - began_s
                within_s = 1.3 * durations_s.get(last, 0.05)
                Timer(float(rng.uniform(0, within_s)), _kill, (process,)).start()
                for _step in steps:
                    pass
            except Killed:
                pass
        faults, kept = judge(found := facts_in(folder, keys), confirmed, day.under)
        faults += [str(fault) for fault in ([] if keys is None else inspect_record(folder, None, keys).faults)]
        name = "nothing" if day.under is None else day.under.name
        outcome.kills += 1
        outcome.confirmed += day.writes
        outcome.under_way[name] += 1
        outcome.kept[name] += kept
        outcome.faults += [f"kill {outcome.kills}: {fault}" for fault in faults]
        confirmed = set(found)
    return outcome


@contextmanager
def _served(nursery: Nursery, folder: Path, *, sealed: bool) -> Iterator[tuple[Client, int]]:
    """A server that is running, with a session; it has been killed by the end."""
    process = nursery.start("serve", "--port", "0", "--data", folder)
    address, secret = nursery.line().split("/#link=")
    connection = HTTPConnection(address.removeprefix("http://"), timeout=60)
    client = Client(connection, address)
    client.token = str(client.send("POST", "/session", {"link": secret})["token"])
    if sealed:
        client.send("POST", "/lock/unlock", {"code": OWNER, "passphrase": WORDS})
    yield client, process
    status, _ = nursery.ended()
    assert status == -signal.SIGKILL, status
    connection.close()


def by_command(nursery: Nursery, folder: Path, kills: int, rng: Generator) -> Outcome:
    """Kill `collum demo` while it fills a practice: it holds all of the invented cases or none, and the next run fills it."""
    outcome = Outcome()
    took_s, whole = _filled(nursery, folder / "whole", None)
    assert whole == _cases(folder / "whole") > 0
    for number in range(kills):
        practice = folder / str(number)
        _filled(nursery, practice, float(rng.uniform(0, took_s)))
        left = _cases(practice)
        outcome.kills += 1
        outcome.under_way["filling the demo"] += 1
        outcome.kept["filling the demo"] += left == whole
        if left not in (0, whole):
            outcome.faults.append(f"kill {outcome.kills}: {left} of {whole} cases")
        if number % 5 == 0 and _filled(nursery, practice, None)[1] != whole:
            outcome.faults.append(f"kill {outcome.kills}: not filled by the next run")
    return outcome


def _filled(nursery: Nursery, folder: Path, kill_after_s: float | None) -> tuple[float, int]:
    """Run `collum demo` on a folder, killed after a while or not; return how long it took and how many cases there are."""
    took_s, _ = nursery.finished(nursery.start("demo", "--data", folder), kill_after_s)
    return took_s, _cases(folder)


def _cases(folder: Path) -> int:
    if not (folder / "practice.db").exists():
        return 0
    with closing(sqlite3.connect(f"file:{folder / 'practice.db'}?mode=ro", uri=True)) as connection:
        assert connection.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        tables = {name for (name,) in connection.execute("SELECT name FROM sqlite_master")}
        return 0 if "case" not in tables else int(connection.execute('SELECT count(*) FROM "case"').fetchone()[0])


@contextmanager
def new_nursery() -> Iterator[Nursery]:
    """Give a nursery, ended at the end."""
    nursery = Nursery()
    try:
        yield nursery
    finally:
        nursery.close()


def killed(nursery: Nursery, folder: Path, seed: int, *, clear: int, sealed: int, commands: int) -> dict[str, Outcome]:
    """Return what came of kills of a server on a demo (`clear`) and on a sealed practice, and of a command."""
    rng = np.random.default_rng(seed)
    runs: dict[str, Callable[[], Outcome]] = {
        "over HTTP": lambda: over_http(nursery, folder / "demo", clear, rng, sealed=False),
        "over HTTP, sealed": lambda: over_http(nursery, folder / "sealed", sealed, rng, sealed=True),
        "by command": lambda: by_command(nursery, folder / "commands", commands, rng),
    }
    return {name: run() for name, run in runs.items()}
