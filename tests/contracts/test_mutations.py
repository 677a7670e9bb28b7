"""The list of planted faults can still be planted; two of them show that the planting works."""

import ast

import pytest

from tests.contracts.tracked import ROOT
from tools import mutate

LEAST_FAULTS = 260


def test_there_are_enough_faults_and_each_can_be_planted() -> None:
    faults = mutate.mutations()
    assert len(faults) >= LEAST_FAULTS
    assert len({(fault.path, fault.old, fault.new) for fault in faults}) == len(faults)
    counted = {fault: (ROOT / fault.path).read_text(encoding="utf-8").count(fault.old) for fault in faults}
    assert [(fault.path, fault.old, count) for fault, count in counted.items() if count != 1] == []
    assert [fault for fault in faults if fault.old == fault.new] == []


def test_a_planted_fault_is_still_a_program() -> None:
    """One that cannot be read is caught by nothing but the reader."""
    for fault in mutate.mutations():
        planted = (ROOT / fault.path).read_text(encoding="utf-8").replace(fault.old, fault.new)
        if fault.path.endswith(".py"):
            ast.parse(planted, fault.path)


def test_the_tests_each_fault_names_exist() -> None:
    assert (
        sorted({test for fault in mutate.mutations() for test in fault.tests if not (ROOT / test.partition("::")[0]).exists()})
        == []
    )


@pytest.mark.slow
def test_a_planted_fault_is_caught_and_an_unharmful_change_is_not(tmp_path_factory: pytest.TempPathFactory) -> None:
    copy = mutate.copy_of_the_program(tmp_path_factory.mktemp("copy"))
    assert mutate.is_caught(mutate.mutations()[0], copy)
    harmless = mutate.Mutation(
        path="src/collum/plan/lengthening/requirements/verdict.py",
        old='"""Return the worst of the verdicts: what was not read weighs more than doubt, what does not apply nothing."""',
        new='"""Return one word."""',
        tests=("tests/plan/lengthening/test_verdict.py",),
    )
    assert not mutate.is_caught(harmless, copy)
