"""Two computations side by side: both results, in order, and never one waiting for itself."""

import threading

import pytest

from collum.app.memory import keep_freed_memory
from collum.app.plans import side_by_side as module
from collum.app.plans.side_by_side import side_by_side


def test_both_results_come_in_the_order_of_the_functions() -> None:
    assert side_by_side(lambda: "first", lambda: "second") == ("first", "second")


def test_the_two_run_at_once_where_there_is_a_core_for_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module.os, "cpu_count", lambda: 2)
    module._helpers.cache_clear()
    meeting = threading.Barrier(2)
    try:
        found = side_by_side(lambda: meeting.wait(timeout=60), lambda: meeting.wait(timeout=60))
    finally:
        module._helpers.cache_clear()
    assert sorted(found) == [0, 1]


def test_what_is_computed_may_ask_for_help_in_turn() -> None:
    def deep(left: int) -> int:
        return 1 if left == 0 else sum(side_by_side(lambda: deep(left - 1), lambda: deep(left - 1)))

    assert deep(6) == 64


@pytest.mark.parametrize("cores", [None, 1])
def test_with_one_core_both_run_in_the_caller(monkeypatch: pytest.MonkeyPatch, cores: int | None) -> None:
    monkeypatch.setattr(module.os, "cpu_count", lambda: cores)
    module._helpers.cache_clear()
    try:
        assert side_by_side(threading.get_ident, threading.get_ident) == (threading.get_ident(),) * 2
    finally:
        module._helpers.cache_clear()


def test_an_exception_of_either_is_raised() -> None:
    def fail() -> int:
        raise ArithmeticError

    with pytest.raises(ArithmeticError):
        side_by_side(fail, lambda: 1)
    with pytest.raises(ArithmeticError):
        side_by_side(lambda: 1, fail)


def test_an_allocator_that_cannot_be_asked_is_left_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    def no_such_thing(name: object) -> object:
        return object()

    monkeypatch.setattr("ctypes.CDLL", no_such_thing)
    keep_freed_memory.cache_clear()
    keep_freed_memory()
