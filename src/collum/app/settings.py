"""Settings: flags before `COLLUM_*` before `config.toml` before what was set on the page before defaults.

All that is unknown or faulty is refused at once.

Clinical limits are no settings: they stand, with their reason, in the case.
"""

import json
import tomllib
from collections.abc import Callable, Mapping, Sequence, Set
from dataclasses import dataclass, fields
from math import nan
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from collum.app.environment import SystemEnvironment, default_data_directory, default_zone
from collum.app.record.backup_plan import USUAL_DAYS, USUAL_KEPT, BackupPlan, PlanPart, usual_plan
from collum.app.record.own_file import write_own
from collum.evidence import get
from collum.wording import FacialLetter, Names, PalatalLetter

if TYPE_CHECKING:
    from collum.core.heat.pacing_task import HandTimes

Origin = Literal["flag", "environment", "config.toml", "page", "default"]
Value = str | int | float | Path
_PREFIX = "COLLUM_"
_OF_THE_TEST_BENCH = ("COLLUM_CHROMIUM", "COLLUM_REQUIRE")
CONFIG_FILE = "config.toml"
PAGE_FILE = "set-on-page.toml"
_OF_BACKUPS: Mapping[PlanPart, str] = {"place": "backups", "kept": "backups_kept", "kept_days": "backups_days"}
_OF_HANDS = {"position_s": "hand_position_s", "wipe_s": "wire_wipe_s", "change_s": "wire_change_s"}
_ON_PAGE = (*_OF_BACKUPS.values(), *_OF_HANDS.values())


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """`data`: the data directory. `port`: of the workbench, 0 takes a free one. `draws`: of a plan. `zone`: of the practice.

    `facial_letter`, `palatal_letter`: how sites are written, F or B and P or L.

    `hand_position_s`, `wire_wipe_s`, `wire_change_s`: what hands and wire take between two strokes of a round. [s]

    `backups`: their folder. `backups_kept`: how many stay, for `backups_days` at most (0: without an end).
    """

    data: Path
    port: int
    draws: int
    zone: str
    facial_letter: FacialLetter
    palatal_letter: PalatalLetter
    hand_position_s: float
    wire_wipe_s: float
    wire_change_s: float
    backups: Path
    backups_kept: int
    backups_days: int
    origins: Mapping[str, Origin]

    def environment(self) -> SystemEnvironment:
        """Return the environment these settings describe."""
        return SystemEnvironment(data_directory=self.data, zone=self.zone)

    def names(self) -> Names:
        """Return how this practice writes sites."""
        return Names(facial=self.facial_letter, palatal=self.palatal_letter)

    def hands(self) -> "HandTimes":
        """Return what the hands take between two strokes."""
        from collum.core.heat.pacing_task import HandTimes  # loads what computes heat: not for every command

        return HandTimes(position_s=self.hand_position_s, wipe_s=self.wire_wipe_s, change_s=self.wire_change_s)

    def hands_fixed(self) -> frozenset[str]:
        """Return which of their times are set elsewhere than on the page."""
        return frozenset(part for part, name in _OF_HANDS.items() if self.origins[name] not in ("page", "default"))

    def backup_plan(self) -> BackupPlan:
        """Return where backups go and how long they stay."""
        fixed = frozenset(part for part, name in _OF_BACKUPS.items() if self.origins[name] not in ("page", "default"))
        return BackupPlan(place=self.backups, kept=self.backups_kept, kept_days=self.backups_days, fixed=fixed)


def keep_plan(folder: Path, plan: BackupPlan) -> None:
    """Keep what was set of backups on the page, for the next start. Raises StorageError."""
    values: Mapping[PlanPart, str | int] = {"place": str(plan.place), "kept": plan.kept, "kept_days": plan.kept_days}
    _keep_on_page(folder, {name: None if part in plan.fixed else values[part] for part, name in _OF_BACKUPS.items()})


def keep_hands(folder: Path, hands: "HandTimes", fixed: Set[str]) -> None:
    """Keep what was set of the hands on the page, for the next start. Raises StorageError."""
    _keep_on_page(folder, {name: None if part in fixed else getattr(hands, part) for part, name in _OF_HANDS.items()})


def _keep_on_page(folder: Path, values: Mapping[str, Value | None]) -> None:
    """Write what was set on the page beside what was set there before; None takes a name out."""
    kept = {**_of_file(folder / PAGE_FILE, _ON_PAGE, []), **values}
    lines = [f"{name} = {json.dumps(value, ensure_ascii=False)}\n" for name, value in kept.items() if value is not None]
    write_own(folder / PAGE_FILE, "".join(lines))


NAMES = tuple(field.name for field in fields(Settings) if field.name != "origins")


@dataclass(frozen=True, slots=True, kw_only=True)
class SettingFault:
    """One fault: `where` names the variable or key, `allowed` is a key under `settings.allowed`."""

    where: str
    what: Literal["unknown", "faulty", "unreadable"]
    allowed: str
    value: str | None = None


class SettingFaults(ValueError):
    """The settings cannot be taken; `faults` holds every fault."""

    def __init__(self, faults: tuple[SettingFault, ...]) -> None:
        self.faults = faults
        super().__init__(f"{len(faults)} faults in the settings")


def read_settings(flags: Mapping[str, Value | None], variables: Mapping[str, str]) -> Settings:
    """Return the settings of this run. `flags` by name (None: not given), `variables` of the process. Raises SettingFaults."""
    faults: list[SettingFault] = []
    values: dict[str, Value] = {
        "data": default_data_directory(),
        "port": 8734,
        "draws": 10_000,
        "zone": default_zone(),
        "facial_letter": "F",
        "palatal_letter": "P",
        **{name: get(f"pacing.{part}").value for part, name in _OF_HANDS.items()},
        "backups_kept": USUAL_KEPT,
        "backups_days": USUAL_DAYS,
    }
    origins: dict[str, Origin] = dict.fromkeys(NAMES, "default")
    from_flags = {name: value for name, value in flags.items() if value is not None}
    from_variables = _of_variables(variables, faults)
    data = Path(str(from_flags.get("data", from_variables.get("data", values["data"]))))
    layers: tuple[tuple[Origin, Mapping[str, object]], ...] = (
        ("page", _of_file(data / PAGE_FILE, _ON_PAGE, faults)),
        ("config.toml", _of_file(data / CONFIG_FILE, [name for name in NAMES if name != "data"], faults)),
        ("environment", from_variables),
        ("flag", from_flags),
    )
    for origin, layer in layers:
        for name, found in layer.items():
            checked = _CHECKS[name](found)
            if checked is None:
                faults.append(SettingFault(where=_where(origin, name), what="faulty", allowed=name, value=str(found)[:60]))
            else:
                values[name], origins[name] = checked, origin
    if faults:
        raise SettingFaults(tuple(faults))
    values.setdefault("backups", usual_plan(data).place)
    return Settings(**values, origins=origins)  # type: ignore[arg-type]  # each checked above for its name


def _of_variables(variables: Mapping[str, str], faults: list[SettingFault]) -> dict[str, object]:
    found: dict[str, object] = {}
    for variable, value in sorted(variables.items()):
        name = variable.removeprefix(_PREFIX).lower()
        if not variable.startswith(_PREFIX) or variable in _OF_THE_TEST_BENCH:
            continue
        if name in NAMES:
            found[name] = value
        else:
            faults.append(SettingFault(where=variable, what="unknown", allowed="names"))
    return found


def _of_file(file: Path, known: Sequence[str], faults: list[SettingFault]) -> dict[str, object]:
    """Return what a file of the data directory sets; the directory itself is not among it."""
    try:
        table = tomllib.loads(file.read_text(encoding="utf-8"))
    except FileNotFoundError:
        return {}
    except (OSError, ValueError):
        faults.append(SettingFault(where=file.name, what="unreadable", allowed="toml"))
        return {}
    faults += [
        SettingFault(where=f"{file.name}: {key[:40]}", what="unknown", allowed="names") for key in table if key not in known
    ]
    return {name: table[name] for name in known if name in table}


def _where(origin: Origin, name: str) -> str:
    files = {"flag": f"--{name}", "environment": f"{_PREFIX}{name.upper()}", "page": f"{PAGE_FILE}: {name}"}
    return files.get(origin, f"{CONFIG_FILE}: {name}")


def _folder(found: object) -> Path | None:
    if isinstance(found, (str, Path)) and str(found).strip():
        return Path(found).expanduser().absolute()
    return None


def _whole(low: int, high: int) -> Callable[[object], int | None]:
    def check(found: object) -> int | None:
        if isinstance(found, str) and found.isascii() and found.isdigit():
            found = int(found)
        return found if isinstance(found, int) and not isinstance(found, bool) and low <= found <= high else None

    return check


def _seconds(key: str) -> Callable[[object], float | None]:
    def check(found: object) -> float | None:
        try:
            seconds = float(found) if isinstance(found, (str, int, float)) and not isinstance(found, bool) else nan
        except ValueError:
            return None
        return seconds if get(key).low <= seconds <= get(key).high else None

    return check


def _zone(found: object) -> str | None:
    fits = isinstance(found, str) and 0 < len(found) <= 40 and found.isascii() and found.isprintable()
    return str(found) if fits else None


def _letter(*known: str) -> Callable[[object], str | None]:
    return lambda found: str(found) if found in known else None


_CHECKS: Mapping[str, Callable[[object], Value | None]] = {
    "data": _folder,
    "port": _whole(0, 65_535),
    "draws": _whole(100, 100_000),
    "zone": _zone,
    "facial_letter": _letter("F", "B"),
    "palatal_letter": _letter("P", "L"),
    **{name: _seconds(f"pacing.{part}") for part, name in _OF_HANDS.items()},
    "backups": _folder,
    "backups_kept": _whole(2, 400),
    "backups_days": _whole(0, 4_000),
}
