"""What the hands of a practice take between two strokes: as it was set, on the page for the next start too."""

from collections.abc import Set
from pathlib import Path
from threading import Lock

from collum.app.settings import Settings, keep_hands
from collum.core.heat.pacing_task import HandTimes, usual_hands


class KeptHands:
    """The times in force, and which of them are set elsewhere than on the page. For several threads."""

    def __init__(self, folder: Path, hands: HandTimes | None = None, fixed: Set[str] = frozenset()) -> None:
        self._folder = folder
        self._now = hands or usual_hands()
        self._lock = Lock()
        self.fixed = fixed

    @staticmethod
    def of(settings: Settings) -> "KeptHands":
        """Return those of the settings of this run."""
        return KeptHands(settings.data, settings.hands(), settings.hands_fixed())

    @property
    def now(self) -> HandTimes:
        """Return the times in force."""
        with self._lock:
            return self._now

    def keep(self, *, position_s: float, wipe_s: float, change_s: float) -> HandTimes:
        """Put times in force and keep them; one that is fixed elsewhere stays. Raises StorageError, ValueError."""
        asked = {"position_s": position_s, "wipe_s": wipe_s, "change_s": change_s}
        with self._lock:
            times = HandTimes(**{name: getattr(self._now, name) if name in self.fixed else s for name, s in asked.items()})
            keep_hands(self._folder, times, self.fixed)
            self._now = times
            return times
