"""Documents as fields, fields as short answers, and what differs between two of them.

A field is a path with all its values in order. Few numbers are kept as they are; of many their count, hash, mean, least and
greatest, so that a difference shows in the hash and is told in size. Words of demo cases are kept, of others their hash.
"""

import hashlib
import json
import re
from collections.abc import Iterator, Mapping
from typing import Any

import numpy as np

NUMBERS_KEPT = 4
WORDS_KEPT = 40
WHOLE_WORDS_KEPT = 20_000  # longer ones are no text but fields of temperature
MEAN_DIGITS, END_DIGITS = 10, 6
_PART = re.compile(r"^(?:teeth\[\]\.)?[^.\[]+(?:\[[^]]+\])?")
LABELS = ("name", "id", "key", "number")
# Two units of the last digit that is kept of a mean; of least and greatest fewer digits are kept.
RELATIVE = 2e-9
_ENDS_RELATIVE = 2 * 10.0 ** (1 - END_DIGITS)
Answer = Any  # a list of few numbers, the figures of many, a text, or the figures of texts


def fields_of(plain: Any, *, whole: bool) -> dict[str, Answer]:
    """Return the fields of a plain document.

    Where it is kept `whole`, rows of lists are told apart and words kept. Otherwise only routes are, and the words of all
    sentences are one field, since each follows from key and parameters, which are fields of their own.
    """
    found: dict[str, list[Any]] = {}
    for path, leaf in _leaves(plain, "", whole):
        found.setdefault("words" if path.endswith(".text") and not whole else path, []).append(leaf)
    return {path: answer_of(leaves, whole=whole) for path, leaves in found.items()}


def briefly(plain: Any) -> dict[str, Answer]:
    """Return each part of a plain document, and each route, as one field of numbers and one of words."""
    found: dict[str, list[Any]] = {}
    for path, leaf in _leaves(plain, "", False):
        part = "".join(_PART.findall(path)[:1])
        kind = "numbers" if _is_number(leaf) else "words"
        found.setdefault(f"{part} {kind}", []).append(leaf)
    return {path: answer_of(leaves, whole=False) for path, leaves in found.items()}


def answer_of(values: Any, *, whole: bool) -> Answer:
    """Return the short answer for an array, a number, or a list of plain values."""
    listed = values.ravel().tolist() if isinstance(values, np.ndarray) else values if isinstance(values, list) else [values]
    if any(_is_number(one) for one in listed) and all(one is None or _is_number(one) for one in listed):
        return _numbers(np.array([np.nan if one is None else one for one in listed], dtype=float))
    text = listed[0] if len(listed) == 1 and isinstance(listed[0], str) else json.dumps(listed, ensure_ascii=False, default=str)
    if len(text) <= (WHOLE_WORDS_KEPT if whole else WORDS_KEPT):
        return text
    return {"n": len(listed), "h": _hash(text.encode())}


def difference(before: Answer, now: Answer, *, relative: float) -> str | None:
    """Return what differs, None where nothing does.

    Numbers within `relative` of the greatest of their field, or of 1, count as the same; with 0 not even a last place may move.
    """
    if before == now:
        return None
    if before is None or now is None:
        return "was not there" if before is None else "is gone"
    if isinstance(before, list) and isinstance(now, list) and len(before) == len(now):
        return _unlike(dict(enumerate(before)), dict(enumerate(now)), dict.fromkeys(range(len(now)), relative))
    if _is_array(before) and _is_array(now) and before["n"] == now["n"]:
        ends = max(relative, _ENDS_RELATIVE) if relative else 0.0
        return _unlike(before, now, {"mean": relative, "least": ends, "greatest": ends})
    return f"{_shown(before)} -> {_shown(now)}"


def _unlike(before: Mapping[Any, Any], now: Mapping[Any, Any], relative: Mapping[Any, float]) -> str | None:
    """Return which of the named figures moved and how far; None where each is within its share of the greatest, or of 1."""
    pairs = {name: (before[name], now[name]) for name in relative}
    scale = max([1.0, *(abs(one) for pair in pairs.values() for one in pair if one is not None)])
    said, apart = [], False
    for name, (old, new) in pairs.items():
        by = 0.0 if old == new else np.inf if old is None or new is None else abs(new - old)
        apart = apart or by > relative[name] * scale
        if by:
            said.append(f"{name if isinstance(name, str) else f'[{name}]'} {old} -> {new} (by {by:.3g})")
    if not apart and any(relative.values()):
        return None
    return "; ".join(said) or "same mean, least and greatest, other values"


def _numbers(values: np.ndarray) -> Answer:
    values = values + 0.0  # no minus zero
    if values.size <= NUMBERS_KEPT:
        return [None if np.isnan(one) else one for one in values.tolist()]
    there = values[~np.isnan(values)]
    figures = (there.mean(), there.min(), there.max()) if there.size else (np.nan,) * 3
    digits = (MEAN_DIGITS, END_DIGITS, END_DIGITS)
    mean, least, greatest = (None if np.isnan(one) else float(f"{one:.{n}g}") for one, n in zip(figures, digits, strict=True))
    count = values.size if there.size == values.size else f"{there.size} of {values.size}"
    return {"n": count, "h": _hash(values.tobytes()), "mean": mean, "least": least, "greatest": greatest}


def _leaves(plain: Any, path: str, whole: bool) -> Iterator[tuple[str, Any]]:
    if isinstance(plain, Mapping):
        for key, below in plain.items():
            yield from _leaves(below, f"{path}.{key}" if path else str(key), whole)
    elif isinstance(plain, (list, tuple)):
        if not plain:
            yield f"{path}[]", "none"
        for below in plain:
            yield from _leaves(below, f"{path}[{_label(below, path, whole)}]", whole)
    else:
        yield path, plain


def _label(row: Any, path: str, whole: bool) -> str:
    if isinstance(row, Mapping) and (whole or path.endswith("routes")):
        return next((str(row[label]) for label in LABELS if isinstance(row.get(label), (str, int))), "")
    return ""


def _is_number(one: Any) -> bool:
    return isinstance(one, (float, int, np.number)) and not isinstance(one, bool)


def _is_array(answer: Answer) -> bool:
    return isinstance(answer, dict) and "mean" in answer


def _hash(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()[:8]


def _shown(answer: Answer) -> str:
    text = answer if isinstance(answer, str) else json.dumps(answer, ensure_ascii=False)
    return text if len(text) <= 200 else f"{text[:200]}…"
