"""Every kind of advice that there are words for is carried out by a test, or has its reason for not being."""

from collum.plan.lengthening.requirements.table import REQUIREMENTS
from tests.judged.advised.carried_out import CARRIED_OUT
from tests.judged.advised.findings import OUTSIDE
from tests.judged.advised.told import kinds

# Advice of a requirement that says no more than that an input helps: tests/plan/lengthening/test_every_requirement.py.
BY_INPUT = {f"least_change.{one.id}" for one in REQUIREMENTS if one.remedy is None and one.helps}


def test_every_kind_of_advice_is_carried_out_or_has_a_reason() -> None:
    assert sorted(kinds() - CARRIED_OUT.keys() - OUTSIDE.keys() - BY_INPUT) == []
    assert sorted((CARRIED_OUT.keys() | OUTSIDE.keys()) - kinds()) == []
    assert CARRIED_OUT.keys() & OUTSIDE.keys() == set()
    assert all(OUTSIDE.values())


def test_a_new_kind_of_advice_would_be_found() -> None:
    assert {"least_change.ferrule", "remains.watch", "question.cause", "recommended_if.two_operations"} <= kinds()
