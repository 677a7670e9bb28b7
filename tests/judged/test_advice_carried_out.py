"""Each sentence of advice is possible, does what it says, is not given again, and names nothing that is closed for the patient.

Carried out on the demo cases, on made mouths of two makers and on cases made for what these leave out. See `advised`.
"""

from collections.abc import Iterator

import pytest

from collum.case.model import Case
from tests.judged.advised.allowed import offends
from tests.judged.advised.carried_out import CARRIED_OUT
from tests.judged.advised.mouths import demo_cases, made_mouths, rare_cases
from tests.judged.advised.told import told

BATCHES = 8
MADE, MADE_OF_A_CAMPAIGN = (18, 12), (50, 30)


def everything(made: tuple[int, int]) -> Iterator[tuple[str, Case]]:
    yield from demo_cases()
    yield from made_mouths(*made)
    yield from rare_cases()


def assert_carried_out(cases: list[tuple[str, Case]]) -> None:
    count, wrong = 0, []
    for name, case in cases:
        for one in told(case):
            faults = list(offends(one))
            if one.kind in CARRIED_OUT:
                count += 1
                faults += CARRIED_OUT[one.kind](one)
            wrong += [(name, one.route and one.route.name, one.text, fault) for fault in faults]
    assert wrong == []
    assert count > 50


@pytest.mark.slow
@pytest.mark.parametrize("batch", range(BATCHES))
def test_advice_is_carried_out_and_planned_again(batch: int) -> None:
    assert_carried_out(list(everything(MADE))[batch::BATCHES])


@pytest.mark.campaign
@pytest.mark.parametrize("batch", range(BATCHES))
def test_advice_of_more_mouths_is_carried_out(batch: int) -> None:
    assert_carried_out(list(everything(MADE_OF_A_CAMPAIGN))[batch::BATCHES])
