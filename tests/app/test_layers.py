"""What the program alone writes of the layers: the list read out, the time-out, and what no save may bring in or change."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest

from collum.app.safety.counted import Counted, WrongTimeOut
from collum.app.safety.entries import NotReadOut
from collum.app.safety.gate import NotCleared
from collum.case import CaseFaults
from collum.evidence.safety_layers import HISTORY
from tests.app.bench import Bench
from tests.making.answers import answered, counted_aloud

Document = dict[str, Any]
TOOTH = 45


def count(bench: Bench, **changes: Any) -> None:
    said = {"planned": TOOTH, **counted_aloud(TOOTH), **changes}
    bench.practice.safety.time_out(
        bench.case_id, base_revision=bench.revision, procedure="current", counted=Counted(**said), name="D. Nurse"
    )


def mark(bench: Bench) -> str:
    return bench.practice.safety.of_case(bench.case_id).history.mark


def read_out(bench: Bench, listed: str) -> None:
    bench.practice.safety.read_out(bench.case_id, base_revision=bench.revision, list=listed, by="AB")


def second_visit(bench: Bench, after: timedelta) -> None:
    """Ask a full history, open a visit some time later and answer all of it but the history."""
    bench.open_visit()
    bench.save(answered(bench.document))
    bench.practice.environment.moment += after  # type: ignore[attr-defined]  # a fixed environment
    bench.open_visit()
    document = answered(bench.document)
    document["visits"][-1]["screening"] = {"consent": "yes"}
    bench.save(document)


@pytest.mark.parametrize("wrong", [{"position": 6}, {"side": "left"}, {"jaw": "upper"}, {"instrument": "scalpel"}])
def test_another_tooth_or_instrument_than_is_planned_is_refused(bench: Bench, wrong: Document) -> None:
    bench.open_visit()
    bench.save(answered(bench.document))
    before = bench.revision
    with pytest.raises(WrongTimeOut):
        count(bench, **wrong)
    assert bench.revision == before
    count(bench)
    (entry,) = bench.document["visits"][0]["time_outs"]
    assert (entry["tooth"], entry["side"], entry["instrument"], entry["name"]) == (TOOTH, "right", "electrode", "D. Nurse")
    assert bench.issue(bench.plan())


@pytest.mark.parametrize("changes", [{"masks": None}, {"cardiac_device": "yes"}, {"masks": "no"}])
def test_the_tooth_is_counted_after_everything_else_alone(bench: Bench, changes: dict[str, str | None]) -> None:
    bench.open_visit()
    bench.save(answered(bench.document, changes))
    with pytest.raises(NotCleared):
        count(bench)


def test_a_history_is_read_out_for_a_year_and_asked_in_full_after_it(bench: Bench) -> None:
    second_visit(bench, timedelta(days=364, hours=23))
    read_out(bench, mark(bench))
    count(bench)
    assert bench.issue(bench.plan())
    bench.practice.environment.moment += timedelta(days=2)  # type: ignore[attr-defined]  # a fixed environment
    bench.open_visit()
    with pytest.raises(NotReadOut) as refused:
        read_out(bench, mark(bench))
    assert refused.value.trouble == "asked_in_full"


def test_without_a_full_history_there_is_nothing_to_read_out(bench: Bench) -> None:
    bench.open_visit()
    with pytest.raises(NotReadOut):
        read_out(bench, mark(bench))


@pytest.mark.parametrize("rule", HISTORY)
def test_a_history_without_one_answer_is_not_in_full(bench: Bench, rule: str) -> None:
    bench.open_visit()
    bench.save(answered(bench.document, {rule: None}))
    bench.open_visit()
    assert bench.practice.safety.of_case(bench.case_id).history.taken_on is None


def _earlier_answer(document: Document) -> None:
    document["visits"][0]["screening"]["cardiac_device"] = "unknown"


def _brought_in(key: str, found: Any) -> Callable[[Document], None]:
    def change(document: Document) -> None:
        document["visits"][-1][key] = found

    return change


AT = "2026-05-01T08:00:00Z"
COUNTED = {"tooth": TOOTH, "side": "right", "instrument": "electrode", "name": "X", "at": AT, "given_for": "0" * 16}


@pytest.mark.parametrize(
    "change",
    [
        _earlier_answer,
        _brought_in("read_out", {"list": "0" * 16, "by": "AB", "at": AT}),
        _brought_in("list_before", "0" * 16),
        _brought_in("time_outs", [COUNTED]),
    ],
)
def test_a_save_brings_no_mark_in_and_changes_no_answer_of_an_earlier_visit(
    bench: Bench, change: Callable[[Document], None]
) -> None:
    second_visit(bench, timedelta(days=30))
    document = bench.document
    change(document)
    with pytest.raises(CaseFaults):
        bench.save(document)
