"""Six teeth are kept in the memory they are counted with, and what was freed is given back once nothing is worked on."""

import time
from collections.abc import Iterator, Mapping
from dataclasses import fields, is_dataclass
from threading import Event

import numpy as np
import pytest

from collum.app.memory import AtRest, give_back_freed_memory
from collum.app.plans import planning
from collum.app.plans.planning import DRAWS, Planner
from tests.making.teeth import case_of, overgrown_premolar

UP_TO_S = 20  # generous: the tests wait for events, not for this


def test_it_is_done_once_after_the_last_work() -> None:
    done: list[float] = []
    at_rest = Event()

    def do() -> None:
        done.append(time.monotonic())
        at_rest.set()

    rest = AtRest(do, after_s=0.2)
    with rest.work():
        for _ in range(5):
            with rest.work():
                pass
        ended = time.monotonic()
    assert at_rest.wait(UP_TO_S)
    assert len(done) == 1 and done[0] - ended >= 0.19  # the clock may round
    at_rest.clear()
    with rest.work():
        pass
    assert at_rest.wait(UP_TO_S) and len(done) == 2


def test_work_that_takes_long_is_not_rest() -> None:
    """Even where other work ended long ago, or this one ends in a fault."""
    at_rest = Event()
    rest = AtRest(at_rest.set, after_s=0.01)
    with pytest.raises(ValueError, match="a fault"), rest.work():
        with rest.work():
            pass
        assert not at_rest.wait(0.3)  # thirty times as long as rest takes to come
        raise ValueError("a fault")
    assert at_rest.wait(UP_TO_S)


def test_memory_can_be_given_back_on_any_system() -> None:
    give_back_freed_memory()


def test_what_is_kept_takes_the_memory_it_is_counted_with() -> None:
    """Counted over what the arrays are views of: a part of a sorted copy kept beside the draws would hold on to all of it."""
    planner = Planner(1_000)
    planner.plan(case_of(overgrown_premolar()), seed=0)
    (kept,) = planner._kept.values()
    held = {id(base): base.nbytes for base in map(_base, _arrays(kept))}
    assert kept.bytes * 0.99 < sum(held.values()) <= kept.bytes * 1.05  # levels and readings, which do not grow with the draws


def test_six_teeth_with_every_level_read_are_kept() -> None:
    few = 1_000
    planner = Planner(few)
    planner.plan(case_of(overgrown_premolar()), seed=0)
    (kept,) = planner._kept.values()
    levels = (kept.sound_edge_mm, kept.occlusal_edge_mm, kept.mucogingival_mm, kept.cej_mm)
    assert all(level is not None for level in levels)
    assert 6 * kept.bytes * DRAWS / few <= planning._CACHE_BYTES


def _arrays(found: object) -> Iterator[np.ndarray]:
    """Yield every array in a record, whatever it is kept in."""
    if isinstance(found, np.ndarray):
        yield found
    elif is_dataclass(found):
        for one in fields(found):
            yield from _arrays(getattr(found, one.name))
    elif isinstance(found, Mapping):
        for value in found.values():
            yield from _arrays(value)
    elif isinstance(found, tuple | list):
        for value in found:
            yield from _arrays(value)


def _base(array: np.ndarray) -> np.ndarray:
    while isinstance(array.base, np.ndarray):
        array = array.base
    return array
