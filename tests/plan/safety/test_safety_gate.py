"""The gate: which visit counts, for how long, and what no answer can mend."""

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from collum.case import from_document
from collum.evidence import value
from collum.plan.safety import Screening, counts_until, screen, state_of
from tests.making.answers import answered
from tests.making.case_documents import case_document

OPENED = datetime(2026, 5, 1, 8, 0, tzinfo=UTC)
NO_PLATE = {"plate_contact": "not applicable", **dict.fromkeys(("plate_place", "plate_skin", "plate_watched"))}
SECOND = timedelta(seconds=1)
HOURS = timedelta(hours=12)  # one working day: decided, docs/decisions/0012
STEP = timedelta(minutes=2)  # a clock that steps back further is not trusted


def text_of(moment: datetime) -> str:
    return moment.isoformat().replace("+00:00", "Z")


def screened(now: datetime | None, newest_entry: datetime | None = None, **visit: Any) -> Screening:
    case = from_document(answered(case_document(), opened_at=text_of(OPENED), **visit))
    return screen(case, now=now, newest_entry=newest_entry)


def rules(screening: Screening) -> list[str]:
    return [point.rule for point in screening.closing]


def test_without_a_visit_nothing_is_cleared() -> None:
    found = screen(from_document(case_document()), now=OPENED)
    assert (found.cleared, rules(found)) == (False, ["no_visit"])
    assert state_of(found).key == "plan.safety.unanswered"


def test_answers_of_a_visit_that_no_program_opened_do_not_count() -> None:
    found = screen(from_document(answered(case_document())), now=OPENED)
    assert (found.cleared, rules(found)) == (False, ["no_visit"])


@pytest.mark.parametrize(
    ("after", "closed_by"),
    [
        (timedelta(0), []),
        (HOURS - SECOND, []),
        (HOURS, []),
        (HOURS + SECOND, ["aged"]),
        (timedelta(days=365), ["aged"]),
        (-STEP, []),
        (-STEP - SECOND, ["from_the_future"]),
        (-timedelta(days=1), ["from_the_future"]),
    ],
)
def test_answers_count_from_the_opening_of_the_visit_for_twelve_hours(after: timedelta, closed_by: list[str]) -> None:
    assert value("safety.answers_hours") == HOURS / timedelta(hours=1)
    assert value("safety.clock_step_s") == STEP / SECOND
    assert rules(screened(OPENED + after)) == closed_by


@pytest.mark.parametrize(("behind", "closed_by"), [(timedelta(0), []), (STEP, []), (STEP + SECOND, ["clock_set_back"])])
def test_a_clock_before_the_newest_entry_of_the_record_closes(behind: timedelta, closed_by: list[str]) -> None:
    now = OPENED + timedelta(hours=1)
    assert rules(screened(now, now + behind)) == closed_by


def test_without_a_clock_the_answers_are_those_of_their_visit() -> None:
    found = screened(None)
    assert found.cleared
    assert state_of(found).parameters == {"opened_at": "2026-05-01 08:00", "by": "DN"}


@pytest.mark.parametrize("away", [timedelta(hours=1), timedelta(hours=-1), timedelta(days=30)])
def test_the_visit_that_stands_last_counts_whatever_its_clock_said(away: timedelta) -> None:
    document = answered(case_document(), opened_at=text_of(OPENED))
    other = {"date": "2026-05-01", "kind": "cut", "by": "DN", "opened_at": text_of(OPENED + away)}
    last = screen(from_document({**document, "visits": [*document["visits"], other]}), now=OPENED)
    assert not last.cleared and last.visit is not None and last.visit.opened_at == other["opened_at"]
    first = screen(from_document({**document, "visits": [other, *document["visits"]]}), now=OPENED)
    assert first.cleared
    unopened = {"date": "2026-05-02", "kind": "recall"}
    assert screen(from_document({**document, "visits": [*document["visits"], unopened]}), now=OPENED).cleared


@pytest.mark.parametrize(
    ("visit", "closed_by"),
    [
        ({"roles": {}}, ["roles_missing"]),
        ({"roles": {"operator": "DN", "suction": "AB"}}, ["roles_missing"]),
        ({"roles": {"operator": "DN", "suction": "DN", "plate": "DN"}}, ["operator_alone"]),
        ({"roles": {"operator": "DN", "suction": "AB", "plate": "dn"}}, ["operator_alone"]),
        ({"roles": {"operator": "DN", "suction": "AB", "plate": "AB"}}, []),
    ],
)
def test_who_does_what_has_to_be_written(visit: dict[str, Any], closed_by: list[str]) -> None:
    assert rules(screened(OPENED, **visit)) == closed_by


def test_who_operates_and_holds_another_role_is_answered_for_by_name_in_this_visit() -> None:
    roles = {"operator": "DN", "suction": "DN", "plate": "CD"}
    found = screened(OPENED, roles=roles)
    (point,) = found.closing
    assert (point.outcome, point.where, point.sentence.parameters) == ("justify", "visits[0].roles", {"operator": "DN"})
    assert (point.source, point.status) == ("collum_decision", "choice")
    override = {"rule": "operator_alone", "name": "D. Nurse", "reason": "for a reason", "at": text_of(OPENED)}
    assert screened(OPENED, roles=roles, overrides=[override]).cleared


def test_a_unit_without_a_plate_needs_nobody_to_watch_it() -> None:
    document = answered(case_document(), NO_PLATE, opened_at=text_of(OPENED))
    document["visits"][0]["roles"] = {"operator": "DN", "suction": "AB", "plate": "DN"}
    assert screen(from_document(document), now=OPENED).cleared


def test_who_asked_has_to_be_written() -> None:
    document = answered(case_document(), opened_at=text_of(OPENED))
    del document["visits"][0]["by"]
    assert rules(screen(from_document(document), now=OPENED)) == ["no_name"]


def test_a_point_of_one_tooth_closes_that_tooth_alone_and_one_of_the_room_all() -> None:
    two = case_document()
    two["teeth"].append({**two["teeth"][0], "number": 36})
    document = answered(two, opened_at=text_of(OPENED))
    found = screen(from_document(document), now=OPENED)
    assert [(tooth.number, tooth.cleared) for tooth in found.teeth] == [(46, True), (36, False)]
    assert found.of_tooth(46).cleared and not found.of_tooth(36).cleared and not found.cleared
    document["visits"][0]["room"]["oxygen_off"] = "no"
    assert not screen(from_document(document), now=OPENED).of_tooth(46).cleared


def test_a_tooth_the_case_does_not_plan_is_never_cleared() -> None:
    document = answered(case_document(), opened_at=text_of(OPENED))
    assert not screen(from_document(document), now=OPENED).of_tooth(11).cleared
    document["teeth"][0]["role"] = "neighbour"
    assert not screen(from_document(document), now=OPENED).cleared


def test_stops_come_first_and_the_state_counts_them() -> None:
    found = screen(
        from_document(
            answered(case_document(), {"pregnant": "yes", "implant_beside": "yes", "masks": None}, opened_at=text_of(OPENED))
        ),
        now=OPENED,
    )
    assert rules(found)[0] == "implant_beside"
    assert (state_of(found).key, state_of(found).parameters) == ("safety.state.stopped", {"stops": 1, "open": 2})


def test_until_when_the_answers_count_is_said() -> None:
    visit = screened(OPENED).visit
    assert visit is not None and counts_until(visit) == OPENED + HOURS
