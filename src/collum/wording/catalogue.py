"""The one catalogue of sentences: a key and parameters in, words out, for terminal, screen and paper alike.

Placeholders: {x} as it stands, {x:mm} one decimal, {x:deg} whole degrees, {x:in100} "94 in 100", {x:percent} "94 %", {x:ratio}
two decimals, {x:weeks} whole weeks, {x:n|stroke|strokes} "1 stroke" or "6 strokes", {x:way} and {x:what} the words of a
choice, {x:route} the name of a route. Of an angle round a tooth: {x:place} "palatal", {x:there} "palatally", {x:There} the same
at the start of a sentence, {x:near} "P", {x:bearing} "palatally", or whole degrees where no tooth is known. Of the name of a
site: {x:site} its letters. A parameter that is missing or left over is a fault of the program, never of the user.
"""

import math
import string
import tomllib
from collections.abc import Callable, Iterator, Mapping
from functools import lru_cache
from importlib import resources
from numbers import Integral, Real
from typing import Any

from collum.wording.names import called, letters, place_words, site_letters

Parameter = float | int | str

_COUNTED = "n|"
_FLOAT_DUST = 1e-9  # 0.29 * 100 is a hair under 29


class WordingError(KeyError):
    """No sentence under this key, or its parameters do not fit."""


def text(key: str, parameters: Mapping[str, Parameter] | None = None, tooth: int | None = None) -> str:
    """Return the sentence `key` with its parameters put in. Raises WordingError.

    `tooth`: its ISO number, where the sentence names a place round it.
    """
    given = dict(parameters or {})
    sentence = template(key)
    wanted = placeholders(sentence)
    if wanted != set(given):
        raise WordingError(f"{key}: has {sorted(given)}, needs {sorted(wanted)}")
    return _Filler(tooth).vformat(sentence, (), given)


def filled(key: str, parameters: Mapping[str, Parameter], tooth: int | None = None) -> str:
    """Return the sentence `key` with those of the parameters put in that it asks for. Raises WordingError."""
    wanted = placeholders(template(key))
    return text(key, {name: value for name, value in parameters.items() if name in wanted}, tooth)


def site_name(site: str, tooth: int | None) -> str:
    """Return the full name of one of the eight sites: "mesiopalatal"."""
    return text(f"site.long.{called(site, tooth)}")


def side_name(side: str, tooth: int | None) -> str:
    """Return the name of a side of a tooth: facial, mesial, distal, or oral as it is called in its jaw."""
    return site_name({"facial": "F", "mesial": "M", "oral": "L", "distal": "D"}[side], tooth)


def route_name(name: str) -> str:
    """Return the name of a route as people read it."""
    return text(f"screen.route.name.{name}")


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
    def __init__(self, tooth: int | None) -> None:
        self._tooth = tooth

    def format_field(self, value: Any, format_spec: str) -> str:
        if format_spec.startswith(_COUNTED):
            one, more = format_spec.removeprefix(_COUNTED).split("|")
            return f"{value} {one if value == 1 else more}"
        if format_spec in _SHAPES:
            return _SHAPES[format_spec](value)
        if format_spec in _PLACES:
            return _PLACES[format_spec](value, self._tooth)
        if not format_spec and isinstance(value, Real) and not isinstance(value, Integral):
            return f"{float(value):g}"  # also what is no Python float: numbers of a scan have four bytes
        return str(super().format_field(value, format_spec))


def _millimetres(length_mm: float) -> str:
    """Return the length with one decimal and a true minus; never minus zero."""
    return f"{length_mm:.1f}".replace("-0.0", "0.0").replace("-", "\N{MINUS SIGN}")


def _place(angle_deg: float, tooth: int | None) -> str:
    return place_words(angle_deg, tooth, _site_word)


def _there(angle_deg: float, tooth: int | None) -> str:
    return place_words(angle_deg, tooth, _site_word, "there")


def _site_word(name: str) -> str:
    return template(f"site.{name}")


def _hundredths(share: float) -> str:
    """Return the share in whole hundredths, rounded down: what falls short of a limit never reads as if it met it.

    Near 0 and 1 no certainty is claimed that draws cannot show.
    """
    if share >= 0.995:
        return "over 99"
    return "under 1" if share < 0.01 else f"{_whole_hundredths(share)}"


def _whole_hundredths(share: float) -> int:
    return math.floor(100 * share + _FLOAT_DUST)


_SHAPES: Mapping[str, Callable[[Any], str]] = {
    "mm": _millimetres,
    "deg": lambda angle_deg: f"{angle_deg:.0f}",
    "weeks": lambda weeks: f"{weeks:.0f}",
    "ratio": lambda ratio: f"{ratio:.2f}",
    "percent": lambda share: f"{_whole_hundredths(share)} %",
    "in100": lambda share: f"{_hundredths(share)} in 100",
    "way": lambda ways: text(f"plan.way.{ways}"),
    "route": route_name,
    "what": lambda asked: text(f"plan.asked.{asked}"),
}

_PLACES: Mapping[str, Callable[[Any, int | None], str]] = {
    "place": _place,
    "there": _there,
    "There": lambda angle_deg, tooth: _capital(_there(angle_deg, tooth)),
    "near": letters,
    "bearing": lambda angle_deg, tooth: f"{angle_deg:.0f}°" if tooth is None else _there(angle_deg, tooth),
    "site": site_letters,
}


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


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
