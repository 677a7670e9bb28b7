"""Visits in a case file: moments in UTC, each tooth answered for once, and what the typed view makes of them."""

import pytest

from collum.case import CaseFaults, from_document, read, to_document
from tests.making.answers import answered
from tests.making.case_documents import case_document

OPENED = "2026-05-01T08:00:00Z"


def toml(opened_at: str) -> bytes:
    return f"""
format = "collum-case/2"
[patient]
reference = "T-1"
[[teeth]]
number = 11
[[visits]]
date = 2026-05-01
kind = "cut"
opened_at = {opened_at}
""".encode()


@pytest.mark.parametrize(
    "written", ['"2026-05-01T08:00:00Z"', "2026-05-01T08:00:00Z", "2026-05-01T10:00:00+02:00", "2026-05-01T08:00:00.25Z"]
)
def test_a_moment_is_kept_in_utc_to_the_second(written: str) -> None:
    visit = read(toml(written), kind="toml").last_visit
    assert visit is not None and visit.opened_at == OPENED


@pytest.mark.parametrize(
    "written",
    ["2026-05-01T08:00:00", "2026-05-01", '"2026-05-01T08:00:00"', '"2026-02-30T08:00:00Z"', '"2026-05-01T25:00:00Z"', "5"],
)
def test_what_is_no_moment_in_utc_is_refused(written: str) -> None:
    with pytest.raises(CaseFaults) as refused:
        read(toml(written), kind="toml")
    assert [(fault.where, fault.what.key) for fault in refused.value.faults] == [
        ("visits[0].opened_at", "fault.what.not_an_instant")
    ]


def test_a_visit_answers_for_a_tooth_once_and_no_two_were_opened_at_one_moment() -> None:
    document = answered(case_document(), opened_at=OPENED)
    document["visits"][0]["teeth"] *= 2
    document["visits"].append({"date": "2026-05-01", "kind": "cut", "opened_at": OPENED})
    with pytest.raises(CaseFaults) as refused:
        from_document(document)
    assert [fault.where for fault in refused.value.faults] == ["visits[0].teeth[1].number", "visits[1].opened_at"]


def test_answers_come_back_as_they_were_written() -> None:
    override = {"rule": "masks", "tooth": 46, "name": "D. Nurse", "reason": "invented", "at": OPENED}
    document = answered(case_document(), opened_at=OPENED, plate_contact_cm2=90.0, overrides=[override], note="by hand")
    case = from_document(document)
    assert to_document(case)["visits"] == document["visits"]
    (visit,) = case.visits
    assert visit == case.last_visit
    assert visit.of_tooth(46).answers == document["visits"][0]["teeth"][0]["answers"]
    assert (visit.index, visit.by, visit.plate_contact_cm2, visit.overrides and visit.overrides[0].tooth) == (0, "DN", 90.0, 46)


def test_a_file_of_number_1_is_raised_and_holds_no_answers() -> None:
    old = {**case_document(), "format": "collum-case/1"}
    old["visits"] = [{"date": "2026-05-01", "kind": "recall", "note": "kept"}]
    case = from_document(old)
    assert to_document(case)["format"] == "collum-case/3"
    assert case.last_visit is None and case.visits[0].kind == "recall"
