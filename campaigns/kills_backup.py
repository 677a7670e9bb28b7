"""Killed while it makes or restores a backup, the program leaves what was before or what was to be, never half of it.

By command, so that the process is a whole one. What it left is opened with the keys and looked at whole; the next run at the
same name succeeds and leaves nothing beside.
"""

from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from numpy.random import Generator

from campaigns.kills import Nursery, Outcome, sealed_practice
from collum.records import DATABASE, inspect_record
from collum.records.backup import ENDING, BackupFault, open_backup
from collum.records.sealing import Keys
from collum.records.unpacking import unpacked

CASES = 20


@dataclass
class Sealed:
    """A sealed practice that is locked, with a file that holds its recovery code."""

    folder: Path
    keys: Keys = field(repr=False)
    code_file: Path

    @staticmethod
    def of(folder: Path) -> "Sealed":
        keys, code = sealed_practice(folder / "data", CASES)
        (folder / "code").write_text(code, encoding="utf-8")
        return Sealed(folder=folder / "data", keys=keys, code_file=folder / "code")


def killed_at_backups(nursery: Nursery, folder: Path, kills: int, seed: int) -> dict[str, Outcome]:
    """Return what came of `kills` kills of a backup, and as many of a restore."""
    folder.mkdir(exist_ok=True)
    rng, sealed, made = np.random.default_rng(seed), Sealed.of(folder), folder / f"whole{ENDING}"
    return {
        "backup": _kill(nursery, folder, kills, rng, _Backup(sealed, made)),
        "restore": _kill(nursery, folder, kills, rng, _Restore(sealed, made)),
    }


@dataclass
class _Backup:
    sealed: Sealed
    made: Path

    def command(self, target: Path) -> tuple[object, ...]:
        return "record", "backup", "--data", self.sealed.folder, "--to", target

    def target(self, folder: Path, number: int | None) -> Path:
        return self.made if number is None else folder / f"{number}{ENDING}"

    def whole(self, target: Path, scratch: Path) -> bool:
        """Return whether the target is there; raise BackupFault where it is not whole."""
        if not target.exists():
            return False
        unpacked(open_backup(target), self.sealed.keys, scratch)
        return True


@dataclass
class _Restore:
    sealed: Sealed
    made: Path

    def command(self, target: Path) -> tuple[object, ...]:
        return "record", "restore", self.made, "--into", target, "--recovery-code-file", self.sealed.code_file

    def target(self, folder: Path, number: int | None) -> Path:
        return folder / ("whole" if number is None else f"restored-{number}")

    def whole(self, target: Path, scratch: Path) -> bool:
        """Return whether the target is there; raise BackupFault where it is not whole."""
        del scratch
        if not (target / DATABASE).exists():
            if target.exists() and any(target.iterdir()):
                raise BackupFault("damaged")
            return False
        found = inspect_record(target, None, self.sealed.keys)
        if found.faults or found.counts["case"] != CASES:
            raise BackupFault("damaged")
        return True


def _kill(nursery: Nursery, folder: Path, kills: int, rng: Generator, work: _Backup | _Restore) -> Outcome:
    outcome, name = Outcome(), type(work).__name__.removeprefix("_").lower()
    took_s = _run(nursery, work.command(work.target(folder, None)), None)
    for number in range(kills):
        target = work.target(folder, number)
        _run(nursery, work.command(target), float(rng.uniform(0, took_s)))
        outcome.kills += 1
        outcome.under_way[name] += 1
        try:
            kept = work.whole(target, _empty(folder / f"scratch-{name}-{number}"))
            outcome.kept[name] += kept
            if not kept:
                _run(nursery, work.command(target), None)
                assert work.whole(target, _empty(folder / f"again-{name}-{number}"))
                left = [path.name for path in folder.iterdir() if path.name.startswith(f".{target.name}.")]
                outcome.faults += [f"kill {outcome.kills}: {one} was left" for one in left]
        except BackupFault as fault:
            outcome.faults.append(f"kill {outcome.kills}: {fault}")
    return outcome


def _run(nursery: Nursery, command: tuple[object, ...], kill_after_s: float | None) -> float:
    """Run a command, killed after a while or not; return how long it took."""
    return nursery.finished(nursery.start(*command), kill_after_s)[0]


def _empty(folder: Path) -> Path:
    folder.mkdir()
    return folder
