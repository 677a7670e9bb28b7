"""Records of draws, walked as a whole, so that no array of one is left behind.

Every field of such a record is an array whose last axis counts the draws, another such record, or None. What it holds besides
has to say so with `NOT_DRAWN`; anything else is refused, so that a new field cannot be forgotten.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import fields, is_dataclass, replace
from typing import TYPE_CHECKING, TypeVar

import numpy as np

from collum.core.ring import Floats

if TYPE_CHECKING:
    from _typeshed import DataclassInstance

_KIND = "draws"
NOT_DRAWN: Mapping[str, str] = {_KIND: "none"}  # metadata of a field that is the same in every draw
DEVIATE: Mapping[str, str] = {_KIND: "deviate"}  # metadata of a field that is chance alone: 0 at the best estimate

Record = TypeVar("Record", bound="DataclassInstance")
Change = Callable[[Floats, bool], Floats]


def thinned_draws(record: Record, every: int) -> Record:
    """Return the record with one draw in `every`."""
    return _changed(record, lambda draws, _: np.ascontiguousarray(draws[..., ::every]))


def mean_draw(record: Record) -> Record:
    """Return the record with one draw: everything at its mean, and nothing left to chance."""

    def mean(draws: Floats, deviate: bool) -> Floats:
        return np.zeros((*draws.shape[:-1], 1)) if deviate else np.asarray(draws.mean(axis=-1, keepdims=True))

    return _changed(record, mean)


def arrays_of(record: "DataclassInstance") -> Iterator[tuple[str, Floats]]:
    """Yield every array of draws in the record with its name: `root.length`."""
    for name, held, _ in _drawn(record):
        if isinstance(held, np.ndarray):
            yield name, held
        else:
            yield from ((f"{name}.{inner}", array) for inner, array in arrays_of(held))


def draws_bytes(record: "DataclassInstance") -> int:
    """Return the memory that the draws of the record take."""
    return sum(array.nbytes for _, array in arrays_of(record))


def _changed(record: Record, change: Change) -> Record:
    changes = {
        name: change(held, deviate) if isinstance(held, np.ndarray) else _changed(held, change)
        for name, held, deviate in _drawn(record)
    }
    return replace(record, **changes)


def _drawn(record: "DataclassInstance") -> Iterator[tuple[str, "Floats | DataclassInstance", bool]]:
    """Yield the fields that hold draws, and whether they are deviates. Raises TypeError for one that does not say so."""
    for field in fields(record):
        held: Floats | DataclassInstance | None = getattr(record, field.name)
        kind = field.metadata.get(_KIND)
        if kind == NOT_DRAWN[_KIND] or held is None:
            continue
        if not (isinstance(held, np.ndarray) or is_dataclass(held)):
            raise TypeError(f"{type(record).__name__}.{field.name} holds no draws and does not say so")
        yield field.name, held, kind == DEVIATE[_KIND]
