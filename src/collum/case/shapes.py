"""Shapes of values in a case file. Each shape checks a value, collecting faults, and writes its own JSON Schema.

The reader and the published schema are made of the same shapes, so they cannot disagree.
"""

import math
import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from difflib import get_close_matches
from typing import Any, Protocol

from collum.case.faults import Finder, Said, said
from collum.core.tooth import is_permanent

Json = Any  # what a JSON or TOML parser returns
MOST_ISO = 48
MOST_UNKNOWN = 20
_DAY = "[0-9]{4}-[0-9]{2}-[0-9]{2}"
_INSTANT = "[0-9]{4}-(?:0[1-9]|1[0-2])-(?:0[1-9]|[12][0-9]|3[01])T(?:[01][0-9]|2[0-3]):[0-5][0-9]:[0-5][0-9]Z"
_DECIMAL_COMMA = re.compile(r"\s*[-+]?[0-9]+,[0-9]+\s*")
_NO_CONTROLS = "^[^\\u0000-\\u0009\\u000b-\\u001f\\u007f-\\u009f]*$"


class Shape(Protocol):
    """A value's shape."""

    def check(self, found: Json, where: str, finder: Finder) -> Json | None:
        """Return the value as it will be kept, or None after adding faults."""

    def schema(self) -> dict[str, Json]:
        """Return its JSON Schema."""


@dataclass(frozen=True, slots=True)
class Number:
    """A finite number within [low, high]."""

    low: float
    high: float
    unit: str

    def check(self, found: Json, where: str, finder: Finder) -> float | None:
        allowed = said("allowed.number", low=self.low, high=self.high, unit=self.unit)
        if has_decimal_comma(found):
            finder.add(where, said("what.decimal_comma"), allowed, found)
        elif isinstance(found, bool) or not isinstance(found, (int, float)):
            finder.add(where, said("what.not_a_number"), allowed, found)
        elif isinstance(found, float) and not math.isfinite(found):
            finder.add(where, said("what.not_finite"), allowed, found)
        elif not self.low <= found <= self.high:
            finder.add(where, said("what.out_of_range"), allowed, found)
        else:
            return found + 0.0  # also turns -0.0 into the one zero that is written
        return None

    def schema(self) -> dict[str, Json]:
        return {"type": "number", "minimum": self.low, "maximum": self.high, "description": f"[{self.unit}]"}


@dataclass(frozen=True, slots=True)
class Whole:
    """A whole number within [low, high]; 3.0 is one, as in JSON Schema."""

    low: int
    high: int

    def check(self, found: Json, where: str, finder: Finder) -> int | None:
        if not _is_whole(found) or not self.low <= found <= self.high:
            finder.add(where, said("what.not_whole"), said("allowed.whole", low=self.low, high=self.high), found)
            return None
        return int(found)

    def schema(self) -> dict[str, Json]:
        return {"type": "integer", "minimum": self.low, "maximum": self.high}


@dataclass(frozen=True, slots=True)
class IsoTooth:
    """The ISO 3950 number of a permanent tooth."""

    def check(self, found: Json, where: str, finder: Finder) -> int | None:
        if not _is_whole(found) or not is_permanent(int(found)):
            finder.add(where, said("what.not_a_tooth"), said("allowed.iso_tooth"), found)
            return None
        return int(found)

    def schema(self) -> dict[str, Json]:
        return {"enum": [number for number in range(MOST_ISO + 1) if is_permanent(number)]}


@dataclass(frozen=True, slots=True)
class Flag:
    """true or false."""

    def check(self, found: Json, where: str, finder: Finder) -> bool | None:
        if not isinstance(found, bool):
            finder.add(where, said("what.not_a_flag"), said("allowed.flag"), found)
            return None
        return found

    def schema(self) -> dict[str, Json]:
        return {"type": "boolean"}


@dataclass(frozen=True, slots=True)
class Choice:
    """One of the words; where `taken_as` is named, leaving the key out means that one."""

    words: tuple[str, ...]
    taken_as: str | None = field(default=None, kw_only=True)

    def check(self, found: Json, where: str, finder: Finder) -> str | None:
        if not isinstance(found, str) or found not in self.words:
            finder.add(where, said("what.not_a_choice"), said("allowed.choice", words=" | ".join(self.words)), found)
            return None
        return found

    def schema(self) -> dict[str, Json]:
        return {"enum": list(self.words), **({} if self.taken_as is None else {"default": self.taken_as})}


@dataclass(frozen=True, slots=True)
class Text:
    """Text without control characters (line breaks apart), of at most `longest` characters; `allowed` is `pattern` in words.

    `readable`: with a letter or a digit at least, so that a name is never a space that nobody sees.
    """

    longest: int
    pattern: str | None = None
    allowed: Said | None = None
    readable: bool = False

    def check(self, found: Json, where: str, finder: Finder) -> str | None:
        allowed = self.allowed or said("allowed.readable" if self.readable else "allowed.text", longest=self.longest)
        if not isinstance(found, str):
            finder.add(where, said("what.not_text"), allowed, found)
        elif not found or len(found) > self.longest or (self.pattern and not re.fullmatch(self.pattern, found)):
            finder.add(where, said("what.bad_text"), allowed, found)
        elif any(unicodedata.category(c) in ("Cc", "Cs") and c != "\n" for c in found):
            finder.add(where, said("what.control_character"), allowed, found)
        elif self.readable and not any(c.isalnum() for c in found):
            finder.add(where, said("what.unreadable"), allowed, found)
        else:
            return found
        return None

    def schema(self) -> dict[str, Json]:
        pattern = _NO_CONTROLS if self.pattern is None else f"^(?:{self.pattern})$"
        return {"type": "string", "minLength": 1, "maxLength": self.longest, "pattern": pattern}


@dataclass(frozen=True, slots=True)
class Day:
    """A day, ISO 8601; a TOML date is taken too."""

    def check(self, found: Json, where: str, finder: Finder) -> str | None:
        if isinstance(found, date) and type(found) is date:
            return found.isoformat()
        try:
            if isinstance(found, str) and re.fullmatch(_DAY, found):
                return date.fromisoformat(found).isoformat()
        except ValueError:
            pass
        finder.add(where, said("what.not_a_day"), said("allowed.day"), found)
        return None

    def schema(self) -> dict[str, Json]:
        return {"type": "string", "format": "date", "pattern": f"^{_DAY}$"}


@dataclass(frozen=True, slots=True)
class Instant:
    """A moment in UTC to the second, ISO 8601 with a Z; a TOML date-time with an offset is taken too."""

    def check(self, found: Json, where: str, finder: Finder) -> str | None:
        if isinstance(found, datetime) and found.tzinfo is not None:
            return _utc(found)
        try:
            if isinstance(found, str) and re.fullmatch(_INSTANT, found):
                return _utc(datetime.fromisoformat(found))
        except ValueError:
            pass
        finder.add(where, said("what.not_an_instant"), said("allowed.instant"), found)
        return None

    def schema(self) -> dict[str, Json]:
        return {"type": "string", "pattern": f"^{_INSTANT}$"}


@dataclass(frozen=True, slots=True)
class ListOf:
    """A list of `least` to `most` values of one shape."""

    item: Shape
    most: int
    least: int = 0

    def check(self, found: Json, where: str, finder: Finder) -> list[Json] | None:
        if not isinstance(found, list) or not self.least <= len(found) <= self.most:
            finder.add(where, said("what.not_a_list"), said("allowed.list", least=self.least, most=self.most), found)
            return None
        return [self.item.check(value, f"{where}[{i}]", finder) for i, value in enumerate(found)]

    def schema(self) -> dict[str, Json]:
        return {"type": "array", "items": self.item.schema(), "minItems": self.least, "maxItems": self.most}


@dataclass(frozen=True, slots=True)
class Table:
    """A table of named values; unknown names are faults, with the nearest known name beside them."""

    fields: Mapping[str, Shape]
    required: tuple[str, ...] = ()

    def check(self, found: Json, where: str, finder: Finder) -> dict[str, Json] | None:
        if not isinstance(found, dict):
            finder.add(where or "file", said("what.not_a_table"), said("allowed.table", keys=", ".join(self.fields)), found)
            return None
        dot = f"{where}." if where else ""
        unknown = [str(key) for key in found if key not in self.fields]
        for key in unknown[:MOST_UNKNOWN]:
            near = get_close_matches(key, self.fields, n=1)
            allowed = said("allowed.near_key", key=near[0]) if near else said("allowed.keys", keys=", ".join(self.fields))
            finder.add(f"{dot}{key[:40]}", said("what.unknown_key"), allowed)
        if (more := len(unknown) - MOST_UNKNOWN) > 0:
            finder.add(
                where or "file", said("what.more_unknown", count=more), said("allowed.keys", keys=", ".join(self.fields))
            )
        for key in self.required:
            if key not in found:
                finder.add(f"{dot}{key}", said("what.missing"), said("allowed.required"))
        return {key: shape.check(found[key], f"{dot}{key}", finder) for key, shape in self.fields.items() if key in found}

    def schema(self) -> dict[str, Json]:
        return {
            "type": "object",
            "properties": {key: shape.schema() for key, shape in self.fields.items()},
            "required": list(self.required),
            "additionalProperties": False,
        }


SITE_PATTERN = r"F|MF|M|ML|L|DL|D|DF|[0-9]|[1-9][0-9]|[12][0-9][0-9]|3[0-5][0-9]"


@dataclass(frozen=True, slots=True)
class BySite:
    """A table from site (a name or whole degrees) to values of one shape."""

    item: Shape

    def check(self, found: Json, where: str, finder: Finder) -> dict[str, Json] | None:
        if not isinstance(found, dict):
            finder.add(where, said("what.not_a_table"), said("allowed.by_site"), found)
            return None
        unknown = [str(site) for site in found if not re.fullmatch(SITE_PATTERN, str(site))]
        for site in unknown[:MOST_UNKNOWN]:
            finder.add(f"{where}.{site[:20]}", said("what.unknown_site"), said("allowed.by_site"))
        if (more := len(unknown) - MOST_UNKNOWN) > 0:
            finder.add(where, said("what.more_unknown", count=more), said("allowed.by_site"))
        return {
            str(site): self.item.check(value, f"{where}.{site}", finder)
            for site, value in found.items()
            if re.fullmatch(SITE_PATTERN, str(site))
        }

    def schema(self) -> dict[str, Json]:
        return {
            "type": "object",
            "patternProperties": {f"^(?:{SITE_PATTERN})$": self.item.schema()},
            "additionalProperties": False,
        }


@dataclass(frozen=True, slots=True)
class AnyOf:
    """One of several shapes, told apart by the Python type of the value."""

    by_type: Mapping[type, Shape]
    fallback: Shape = field(repr=False)

    def check(self, found: Json, where: str, finder: Finder) -> Json | None:
        for kind, shape in self.by_type.items():
            if isinstance(found, kind) and not (isinstance(found, bool) and kind is not bool):
                return shape.check(found, where, finder)
        return self.fallback.check(found, where, finder)

    def schema(self) -> dict[str, Json]:
        shapes = list({id(s): s for s in (*self.by_type.values(), self.fallback)}.values())
        return {"anyOf": [s.schema() for s in shapes]}


def has_decimal_comma(found: Json) -> bool:
    """Return whether a text is a number with a decimal comma."""
    return isinstance(found, str) and _DECIMAL_COMMA.fullmatch(found) is not None


def _utc(moment: datetime) -> str:
    return moment.astimezone(UTC).replace(microsecond=0, tzinfo=None).isoformat() + "Z"


def _is_whole(found: Json) -> bool:
    return not isinstance(found, bool) and (isinstance(found, int) or (isinstance(found, float) and found.is_integer()))
