"""Ids and instants."""

from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path
from uuid import UUID

from hypothesis import given
from hypothesis import strategies as st

from collum.app.environment import SystemEnvironment, utc_text, uuid7

MILLISECONDS = st.integers(0, 2**48 - 1)


@given(MILLISECONDS, st.binary(min_size=10, max_size=10))
def test_an_id_is_a_uuid_of_version_7_that_holds_its_time(milliseconds: int, random: bytes) -> None:
    made = UUID(uuid7(milliseconds, random))
    assert made.version == 7
    assert made.variant == "specified in RFC 4122"
    assert made.int >> 80 == milliseconds


@given(st.tuples(MILLISECONDS, MILLISECONDS), st.binary(min_size=10, max_size=10), st.binary(min_size=10, max_size=10))
def test_ids_sort_by_time(times: tuple[int, int], one: bytes, two: bytes) -> None:
    early, late = sorted(times)
    if early < late:
        assert uuid7(early, one) < uuid7(late, two)


def test_the_example_of_the_standard() -> None:
    """RFC 9562, appendix A.6: 017F22E2-79B0-7CC3-98C4-DC0C0C07398F, made at 1645557742000 ms."""
    random = (0xCC3 << 64 | 0x18C4DC0C0C07398F).to_bytes(10, "big")
    assert uuid7(1_645_557_742_000, random) == "017f22e2-79b0-7cc3-98c4-dc0c0c07398f"


def test_instants_are_written_in_utc() -> None:
    east = timezone(timedelta(hours=2))
    assert utc_text(datetime(2026, 5, 1, 10, 30, 0, 250_000, tzinfo=east)) == "2026-05-01T08:30:00Z"


def test_the_real_environment_gives_fresh_ids_and_aware_times(tmp_path: Path) -> None:
    environment = SystemEnvironment(data_directory=tmp_path)
    assert len({environment.new_id() for _ in range(200)}) == 200
    assert environment.now().tzinfo is UTC
