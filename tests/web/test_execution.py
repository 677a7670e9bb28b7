"""Two threads: a plan in work never holds up a verdict, and what was overtaken is not computed."""

import asyncio
import threading
from collections.abc import Callable, Coroutine
from typing import TypeVar

import pytest

from collum.app.plans.planning import Cancelled
from collum.web.execution import MOST_WAITING, Executor
from collum.web.problems import Problem

T = TypeVar("T")


def test_a_plan_in_work_does_not_hold_up_a_verdict() -> None:
    gate = threading.Event()

    async def both(executor: Executor) -> str:
        plan = asyncio.create_task(executor.run(lambda: gate.wait(60)))
        verdict = await executor.run_newest("verdict", "a", 1, lambda _: threading.current_thread().name)
        assert not plan.done()
        gate.set()
        assert await plan
        return verdict

    assert _with_executor(both).startswith("verdict")


def test_only_the_newest_of_a_session_is_computed_to_its_end() -> None:
    gate = threading.Event()
    begun: list[int] = []
    computed: list[int] = []

    def work(number: int) -> Callable[[Callable[[], bool]], int]:
        def compute(overtaken: Callable[[], bool]) -> int:
            begun.append(number)
            gate.wait(60)
            if overtaken():
                raise Cancelled
            computed.append(number)
            return number

        return compute

    async def three(executor: Executor) -> list[object]:
        tasks = [asyncio.create_task(executor.run_newest("plan", "a", n, work(n))) for n in (1, 2, 3)]
        other = asyncio.create_task(executor.run_newest("plan", "b", 9, work(10)))
        while not begun:  # all four have asked, and the first is in work
            await asyncio.sleep(0)
        gate.set()
        return list(await asyncio.gather(*tasks, other, return_exceptions=True))

    found = _with_executor(three)
    assert [type(one) for one in found[:2]] == [Cancelled, Cancelled]
    assert found[2:] == [3, 10]
    assert begun == [1, 3, 10]  # the second was overtaken while it waited
    assert computed == [3, 10]


def test_a_second_request_of_the_same_generation_overtakes_the_first() -> None:
    """A page that was loaded anew counts from the start: what its former self asked is not computed to its end."""
    gate = threading.Event()

    def work(overtaken: Callable[[], bool]) -> bool:
        gate.wait(60)
        return overtaken()

    async def twice(executor: Executor) -> list[object]:
        asked = [asyncio.create_task(executor.run_newest("plan", session, 1, work)) for session in ("b", "a", "a")]
        await asyncio.sleep(0)  # all have asked
        gate.set()
        return list(await asyncio.gather(*asked, return_exceptions=True))

    other, first, second = _with_executor(twice)
    assert (other, type(first), second) == (False, Cancelled, False)


def test_a_page_that_counts_anew_is_not_held_by_what_it_asked_before() -> None:
    async def in_turn(executor: Executor) -> list[int]:
        return [await executor.run_newest("plan", "a", n, lambda _, n=n: n) for n in (57, 1)]  # type: ignore[misc]

    assert _with_executor(in_turn) == [57, 1]


def test_an_end_without_number_of_requests_is_refused() -> None:
    gate = threading.Event()

    async def many(executor: Executor) -> list[object]:
        tasks = [asyncio.create_task(executor.run(lambda: gate.wait(60))) for _ in range(MOST_WAITING + 3)]
        await asyncio.sleep(0)  # all have asked
        gate.set()
        return list(await asyncio.gather(*tasks, return_exceptions=True))

    found = _with_executor(many)
    refused = [one for one in found if isinstance(one, Problem)]
    assert len(refused) == 3
    assert {one.code for one in refused} == {"too_many_requests"}


def test_a_crash_in_a_thread_reaches_its_caller_and_the_next_is_served() -> None:
    async def after(executor: Executor) -> int:
        with pytest.raises(ZeroDivisionError):
            await executor.run(lambda: 1 // 0)
        return await executor.run(lambda: 2)

    assert _with_executor(after) == 2


def _with_executor(use: Callable[[Executor], Coroutine[None, None, T]]) -> T:
    executor = Executor()
    try:
        return asyncio.run(use(executor))
    finally:
        executor.close()
