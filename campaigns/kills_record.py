"""Acts on a whole record, killed at random moments of their real length, and stopped before each step they take on the disk.

See `kills_acts` for what is done and what may be left.
"""

import os
import shutil
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from hashlib import sha256
from pathlib import Path
from statistics import median
from typing import Any

import numpy as np
import pytest
from numpy.random import Generator
from sqlalchemy import Engine, event

from campaigns.kills import Nursery, Outcome
from campaigns.kills_acts import ACTS, DATA, Look, look, perform, prepare
from campaigns.kills_nursery import ACT, BEGAN, DONE
from tests.measuring.passphrases import cheap_passphrases

_STEPS = ("open", "mkdir", "fsync", "rename", "replace", "unlink")
_AGAIN = 8  # of so many, one that was not done is done again
_TRIES, _LONGER = 3, 1.1  # kills come up to a little after the usual length, so that the end of the act is met too


@dataclass(frozen=True, slots=True)
class Ground:
    """A record on which an act is done again and again: what it is before, and what it has to be after."""

    name: str
    template: Path
    before: Look
    after: Look

    @staticmethod
    def of(name: str, folder: Path, cases: int) -> "Ground":
        template = folder / ("clear" if ACTS[name].clear else "sealed")
        if not template.exists():
            prepare(template, clear=ACTS[name].clear, cases=cases)
        done = _copy(template, folder / f"done {name}")
        perform(name, done)
        return Ground(name, template, _before(template), look(done))

    def judged(self, root: Path, *, again: bool) -> tuple[list[str], bool]:
        """Return what is wrong with what was left under `root`, and whether the act was done.

        `again`: where it was not, do it now and look again.
        """
        try:
            found = look(root)
            if found == self.after:
                return [], True
            if found != self.before:
                return [f"neither before nor after: {found}"], False
            if again:
                perform(self.name, root)
                assert look(root) == self.after, "done again it is not what it should be"
        except Exception as error:
            return [f"{type(error).__name__}: {error}"], False
        return [], False


@cache
def _before(template: Path) -> Look:
    return look(_copy(template, template.with_name(f"{template.name} before")))


def killed_at_acts(nursery: Nursery, folder: Path, kills: Mapping[str, int], cases: int, seed: int) -> dict[str, Outcome]:
    """Return what came of a number of kills of each act."""
    rng = np.random.default_rng(seed)
    with cheap_passphrases():
        return {name: _killed(nursery, Ground.of(name, folder, cases), folder, n, rng) for name, n in kills.items()}


def _killed(nursery: Nursery, ground: Ground, folder: Path, kills: int, rng: Generator) -> Outcome:
    outcome, name = Outcome(), ground.name
    took_s = median(_length_s(nursery, name, _copy(ground.template, folder / f"{name} whole {one}")) for one in range(_TRIES))
    for number in range(kills):
        root = _copy(ground.template, folder / f"{name} {number}")
        _kill(nursery, name, root, float(rng.uniform(0, _LONGER * took_s)))
        faults, kept = ground.judged(root, again=number % _AGAIN == 0)
        outcome.kills += 1
        outcome.under_way[name] += 1
        outcome.kept[name] += kept
        outcome.faults += [f"kill {outcome.kills}: {fault}" for fault in faults]
        shutil.rmtree(root)
    return outcome


def _length_s(nursery: Nursery, name: str, root: Path) -> float:
    """Do an act in a process of its own; return how long it took, without what comes before and after it."""
    process = nursery.start(ACT, name, root)
    assert nursery.line() == BEGAN
    began_s = time.monotonic()
    assert nursery.line() == DONE
    took_s = time.monotonic() - began_s
    nursery.finished(process, None)
    return took_s


def _kill(nursery: Nursery, name: str, root: Path, after_s: float) -> None:
    process = nursery.start(ACT, name, root)
    assert nursery.line() == BEGAN
    nursery.finished(process, after_s)


def stopped_at_each_step(folder: Path, name: str, cases: int) -> tuple[int, int, list[str]]:
    """Do an act once and judge what the disk held before each of its steps, and at its end.

    Return how many states there were, at how many the act was done, and what is wrong.
    """
    with cheap_passphrases():
        ground, states = Ground.of(name, folder, cases), list[Path]()
        root, seen = _copy(ground.template, folder / f"{name} live"), set[str]()

        def keep() -> None:
            held = _held(root / DATA)
            if held not in seen:
                seen.add(held)
                states.append(_copy(root, folder / f"{name} {len(states)}"))

        with _before_each_step(keep) as looking:
            perform(name, root, began=looking)
        keep()
        judged = [ground.judged(state, again=number % _AGAIN == 0) for number, state in enumerate(states)]
        faults = [f"state {number}: {fault}" for number, (found, _) in enumerate(judged) for fault in found]
        return len(states), sum(done for _, done in judged), faults


@contextmanager
def _before_each_step(keep: Callable[[], None]) -> Iterator[Callable[[], None]]:
    """Call `keep` before each change that this program makes to files by itself, and around each transaction it ends.

    Give what begins the looking.
    """
    looking = False

    def looked(*_given: object) -> None:
        nonlocal looking
        if looking:
            looking = False
            keep()
            looking = True

    def begin() -> None:
        nonlocal looking
        looking = True

    def step(does: Callable[..., Any]) -> Callable[..., Any]:
        def stepping(*given: Any, **named: Any) -> Any:
            looked()
            return does(*given, **named)

        return stepping

    with pytest.MonkeyPatch.context() as patched:
        for name in _STEPS:
            patched.setattr(os, name, step(getattr(os, name)))
        event.listen(Engine, "commit", looked)
        try:
            yield begin
        finally:
            event.remove(Engine, "commit", looked)


def _held(data: Path) -> str:
    """Return the hash of all files of a data directory but the index of the log, which is made anew."""
    files = sorted(path for path in data.rglob("*") if path.is_file() and not path.name.endswith("-shm"))
    return sha256(repr([(str(path.relative_to(data)), path.read_bytes()) for path in files]).encode()).hexdigest()


def _copy(source: Path, target: Path) -> Path:
    return Path(shutil.copytree(source, target))
