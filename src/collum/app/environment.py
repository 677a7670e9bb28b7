"""The only clock, maker of ids and place of the data directory; handed to the use cases, so that tests can fix them all."""

import os
import time
import uuid
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Protocol

import platformdirs

import collum


class Environment(Protocol):
    """What a use case may ask of the outside."""

    @property
    def data_directory(self) -> Path: ...

    @property
    def program_version(self) -> str: ...

    @property
    def zone(self) -> str:
        """Name of the practice's time zone, kept beside each UTC time."""

    @property
    def author(self) -> str:
        """Who writes: the code of the user that unlocked the record."""

    def for_author(self, code: str) -> "Environment":
        """Return the same environment for another author."""

    def now(self) -> datetime:
        """Return the time now, UTC."""

    def monotonic_s(self) -> float:
        """Return seconds on a clock that never goes back, of any origin: for spans of time, whatever the wall clock does."""

    def new_id(self) -> str:
        """Return a new id, sortable by time (UUID version 7)."""


@dataclass(frozen=True, slots=True)
class SystemEnvironment:
    """The real one."""

    data_directory: Path
    program_version: str = collum.__version__
    zone: str = "UTC"
    author: str = "workbench"

    def for_author(self, code: str) -> "SystemEnvironment":
        return replace(self, author=code)

    def now(self) -> datetime:
        return datetime.now(UTC)

    def monotonic_s(self) -> float:
        return time.monotonic()

    def new_id(self) -> str:
        return uuid7(time.time_ns() // 1_000_000, os.urandom(10))


def utc_text(at: datetime) -> str:
    """Return an instant as UTC in ISO 8601, whole seconds: `2026-05-01T08:30:00Z`."""
    return at.astimezone(UTC).isoformat(timespec="seconds").replace("+00:00", "Z")


def default_data_directory() -> Path:
    """Return the user's data folder of this platform."""
    return Path(platformdirs.user_data_dir("collum", appauthor=False))


def default_zone() -> str:
    """Return the name of the time zone this machine is set to."""
    return datetime.now().astimezone().tzname() or "UTC"


def uuid7(milliseconds: int, random: bytes) -> str:
    """Return a UUID version 7 (RFC 9562, 5.7): 48 bits of time, 74 random bits."""
    number = (milliseconds & (1 << 48) - 1) << 80 | int.from_bytes(random, "big")
    number = number & ~(0xF << 76) | 7 << 76
    number = number & ~(0x3 << 62) | 2 << 62
    return str(uuid.UUID(int=number))
