"""An environment that always says the same: ids by number, a clock that moves a second with each look."""

from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from uuid import UUID

START = datetime(2026, 5, 1, 8, 0, tzinfo=UTC)
# What a process of its own runs to be the command line, with the least accepted cost of a passphrase, not a calibrated one.
CHEAP_COMMAND_LINE = """
from collum.records.sealing import stretching
stretching._ENOUGH_S = 0
from collum.cli.main import run; run()"""


@dataclass
class FixedEnvironment:
    """Stands in for the real one; `moment` is what the clock will say next.

    With the clock that stands still a passphrase costs the most there is, since no trial of its cost seems to take any time;
    `tick_s` lets the first one be enough.
    """

    data_directory: Path
    program_version: str = "0.1.0"
    zone: str = "Europe/Vienna"
    author: str = "workbench"
    moment: datetime = START
    ids: int = field(default=0)
    seconds: float = 0
    tick_s: float = 0

    def for_author(self, code: str) -> "FixedEnvironment":
        return replace(self, author=code)

    def now(self) -> datetime:
        moment, self.moment = self.moment, self.moment + timedelta(seconds=1)
        return moment

    def monotonic_s(self) -> float:
        """Seconds of a clock of its own that a test may turn on by hand; each look moves it by `tick_s`."""
        self.seconds += self.tick_s
        return self.seconds

    def new_id(self) -> str:
        self.ids += 1
        return str(UUID(int=self.ids))
