"""The demo practice: invented cases that ship with the program, in a data directory of their own."""

from collections.abc import Iterator
from dataclasses import dataclass
from importlib import resources
from pathlib import Path

from collum.app.plans.planning import Planner
from collum.app.practice import Practice
from collum.app.record.data_directory import is_demo, mark_as_demo
from collum.case import Case, read, to_document
from collum.records import DATABASE, remove_record


@dataclass(frozen=True, slots=True, kw_only=True)
class DemoCheck:
    """What a demo case was made for, and what its plan says."""

    reference: str
    tooth_number: int
    route: str
    expected: str
    found: str

    @property
    def holds(self) -> bool:
        return self.expected == self.found


class NotADemo(Exception):
    """The data directory holds a practice that is not the demo practice."""


def demo_cases() -> tuple[Case, ...]:
    """Return the demo cases."""
    return tuple(read(data, kind="toml") for data in _files())


def claim(folder: Path) -> None:
    """Make a folder the demo practice's own. Raises NotADemo where a practice is in it already, StorageError."""
    if (folder / DATABASE).exists() and not is_demo(folder):
        raise NotADemo
    mark_as_demo(folder)


def fill(practice: Practice) -> int:
    """Add the demo cases, all at once, to a practice that has none; return how many were added."""
    found = practice.listed()
    if found.cases or found.damaged:
        return 0
    return len(practice.create_all([to_document(case) for case in demo_cases()]))


def renew(folder: Path) -> None:
    """Remove the demo practice's record, edits included. Raises NotADemo where the folder is not its own, StorageError.

    What is opened next has to be wanted as a new practice.
    """
    if not folder.exists():
        return
    if not is_demo(folder):
        raise NotADemo
    remove_record(folder)


def checks(planner: Planner) -> Iterator[DemoCheck]:
    """Plan every demo case; give for each what it was made for and what came out."""
    for case in demo_cases():
        plan = planner.plan(case)
        assert case.expected is not None
        route = next(route for route in plan.teeth[0].routes if route.name == case.expected.route)
        yield DemoCheck(
            reference=case.patient.reference,
            tooth_number=plan.teeth[0].number,
            route=route.name,
            expected=case.expected.verdict,
            found=route.verdict,
        )


def _files() -> Iterator[bytes]:
    folder = resources.files("collum.demo_practice")
    for file in sorted(folder.iterdir(), key=lambda f: f.name):
        if file.name.endswith(".toml"):
            yield file.read_bytes()
