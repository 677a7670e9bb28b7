"""The one catalogue of sentences: a key and parameters in, words out, for terminal, screen and paper alike.

Placeholders: {x} as it stands, {x:mm} one decimal, {x:deg} whole degrees, {x:in100} "94 in 100", {x:site} the name of a site,
{x:weeks} whole weeks. A parameter that is missing or left over is a fault of the program, never of the user.
"""

import string
import tomllib
from collections.abc import Iterator, Mapping
from functools import lru_cache
from importlib import resources
from typing import Any

Parameter = float | int | str


class WordingError(KeyError):
    """No sentence under this key, or its parameters do not fit."""


def text(key: str, parameters: Mapping[str, Parameter] | None = None) -> str:
    """Return the sentence `key` with its parameters put in. Raises WordingError."""
    given = dict(parameters or {})
    template = _catalogue().get(key)
    if template is None:
        raise WordingError(f"no sentence under {key!r}")
    wanted = placeholders(template)
    if wanted != set(given):
        raise WordingError(f"{key}: has {sorted(given)}, needs {sorted(wanted)}")
    return _Filler().vformat(template, (), given)


def keys() -> tuple[str, ...]:
    """Return every key of the catalogue."""
    return tuple(_catalogue())


def template(key: str) -> str:
    """Return the sentence `key` before its parameters are put in."""
    return _catalogue()[key]


def placeholders(sentence: str) -> set[str]:
    """Return the names of the placeholders of a sentence."""
    return {name for _, name, _, _ in string.Formatter().parse(sentence) if name}


class _Filler(string.Formatter):
    def format_field(self, value: Any, format_spec: str) -> str:
        shapes = {
            "mm": lambda v: f"{abs(v) if abs(v) < 0.05 else v:.1f}",
            "deg": lambda v: f"{v:.0f}",
            "weeks": lambda v: f"{v:.0f}",
            "in100": lambda v: f"{_hundredths(v)} in 100",
            "site": lambda v: text(f"site.short.{v}") if f"site.short.{v}" in _catalogue() else f"{v}°",
        }
        if format_spec in shapes:
            return shapes[format_spec](value)
        if not format_spec and isinstance(value, float):
            return f"{value:g}"
        return str(super().format_field(value, format_spec))


def _hundredths(share: float) -> str:
    """Return the share in hundredths; never a certainty that the draws cannot show."""
    if share >= 0.995:
        return "over 99"
    return "under 1" if share < 0.005 else f"{100 * share:.0f}"


@lru_cache(maxsize=1)
def _catalogue() -> dict[str, str]:
    joined: dict[str, str] = {}
    folder = resources.files("collum.wording") / "en"
    for file in sorted(folder.iterdir(), key=lambda f: f.name):
        if file.name.endswith(".toml"):
            for key, sentence in _flat(tomllib.loads(file.read_text(encoding="utf-8")), ""):
                if key in joined:
                    raise WordingError(f"{key} stands twice")
                joined[key] = sentence
    return joined


def _flat(table: Mapping[str, Any], prefix: str) -> Iterator[tuple[str, str]]:
    for key, entry in table.items():
        if isinstance(entry, Mapping):
            yield from _flat(entry, f"{prefix}{key}.")
        else:
            yield f"{prefix}{key}", str(entry)
