"""The one catalogue of sentences: a key and parameters in, words out, for terminal, screen and paper alike.

Placeholders: {x} as it stands, {x:mm} one decimal, {x:deg} whole degrees, {x:place} whole degrees with the nearest site,
{x:near} that site alone, {x:in100} "94 in 100", {x:ratio} two decimals, {x:site} the name of a site, {x:weeks} whole weeks,
{x:n|stroke|strokes} "1 stroke" or "6 strokes", {x:way} and {x:what} the words of a choice. A parameter that is missing or
left over is a fault of the program, never of the user.
"""

import math
import string
import tomllib
from collections.abc import Callable, Iterator, Mapping
from functools import lru_cache
from importlib import resources
from numbers import Integral, Real
from typing import Any

Parameter = float | int | str

_SITES_DEG = {"F": 0, "MF": 60, "M": 90, "ML": 120, "L": 180, "DL": 240, "D": 270, "DF": 300}


_COUNTED = "n|"
_FLOAT_DUST = 1e-9  # 0.29 * 100 is a hair under 29


class WordingError(KeyError):
    """No sentence under this key, or its parameters do not fit."""


def text(key: str, parameters: Mapping[str, Parameter] | None = None) -> str:
    """Return the sentence `key` with its parameters put in. Raises WordingError."""
    given = dict(parameters or {})
    sentence = template(key)
    wanted = placeholders(sentence)
    if wanted != set(given):
        raise WordingError(f"{key}: has {sorted(given)}, needs {sorted(wanted)}")
    return _Filler().vformat(sentence, (), given)


def filled(key: str, parameters: Mapping[str, Parameter]) -> str:
    """Return the sentence `key` with those of the parameters put in that it asks for. Raises WordingError."""
    wanted = placeholders(template(key))
    return text(key, {name: value for name, value in parameters.items() if name in wanted})


def keys() -> tuple[str, ...]:
    """Return every key of the catalogue."""
    return tuple(_catalogue())


def template(key: str) -> str:
    """Return the sentence `key` before its parameters are put in. Raises WordingError."""
    sentence = _catalogue().get(key)
    if sentence is None:
        raise WordingError(f"no sentence under {key!r}")
    return sentence


def placeholders(sentence: str) -> set[str]:
    """Return the names of the placeholders of a sentence."""
    return {name for _, name, _, _ in string.Formatter().parse(sentence) if name}


class _Filler(string.Formatter):
    def format_field(self, value: Any, format_spec: str) -> str:
        if format_spec.startswith(_COUNTED):
            one, more = format_spec.removeprefix(_COUNTED).split("|")
            return f"{value} {one if value == 1 else more}"
        if format_spec in _SHAPES:
            return _SHAPES[format_spec](value)
        if not format_spec and isinstance(value, Real) and not isinstance(value, Integral):
            return f"{float(value):g}"  # also what is no Python float: numbers of a scan have four bytes
        return str(super().format_field(value, format_spec))


def _millimetres(length_mm: float) -> str:
    """Return the length with one decimal and a true minus; never minus zero."""
    return f"{length_mm:.1f}".replace("-0.0", "0.0").replace("-", "\N{MINUS SIGN}")


def _place(angle_deg: float) -> str:
    """Return the angle with the nearest of the eight sites; half way between two it has the names of both."""
    return f"{angle_deg:.0f}° ({_near(angle_deg)})"


def _near(angle_deg: float) -> str:
    """Return the nearest of the eight sites; half way between two, both."""
    away = {site: abs((angle_deg - at + 180) % 360 - 180) for site, at in _SITES_DEG.items()}
    return "/".join(_site(site) for site, distance in away.items() if distance - min(away.values()) < _FLOAT_DUST)


def _site(name: str) -> str:
    """Return the short name of a site; a site given in degrees keeps them."""
    return _catalogue().get(f"site.short.{name}", f"{name}°")


def _hundredths(share: float) -> str:
    """Return the share in whole hundredths, rounded down: what falls short of a limit never reads as if it met it.

    Near 0 and 1 no certainty is claimed that draws cannot show.
    """
    if share >= 0.995:
        return "over 99"
    return "under 1" if share < 0.01 else f"{math.floor(100 * share + _FLOAT_DUST)}"


_SHAPES: Mapping[str, Callable[[Any], str]] = {
    "mm": _millimetres,
    "deg": lambda angle_deg: f"{angle_deg:.0f}",
    "place": _place,
    "near": _near,
    "weeks": lambda weeks: f"{weeks:.0f}",
    "ratio": lambda ratio: f"{ratio:.2f}",
    "in100": lambda share: f"{_hundredths(share)} in 100",
    "site": _site,
    "way": lambda ways: text(f"plan.way.{ways}"),
    "what": lambda asked: text(f"plan.asked.{asked}"),
}


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
