"""How two independent computations run: here one after the other; whoever has cores to spare hands in another way."""

from collections.abc import Callable
from typing import Protocol, TypeVar

A = TypeVar("A")
B = TypeVar("B")


class Both(Protocol):
    """Runs two functions of which neither waits for the other; gives both results."""

    def __call__(self, first: Callable[[], A], second: Callable[[], B]) -> tuple[A, B]: ...


def one_by_one(first: Callable[[], A], second: Callable[[], B]) -> tuple[A, B]:
    """Return both results, the first computed first."""
    return first(), second()
