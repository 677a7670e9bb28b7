"""The registry refuses what a dentist could not judge; each refusal is checked with a record wrong in one thing only."""

import math
from typing import Any

import pytest

from collum.evidence import Constant, Reference, Registry

WORK = Reference(key="a_work", citation="Somebody 2001, a journal 1:1")


def made(**changes: Any) -> Constant:
    fields: dict[str, Any] = {
        "key": "a.length_mm",
        "value": 2.0,
        "low": 1.0,
        "high": 3.0,
        "unit": "mm",
        "meaning": "a length",
        "source": "a_work",
        "status": "read",
        "kind": "measured",
        "population": "ten teeth",
        "checked": "2026-11-25",
        "used_for": "a test",
    }
    return Constant(**{**fields, **changes})


def registry(*constants: Constant) -> Registry:
    filled = Registry()
    filled.add_reference(WORK)
    for constant in constants:
        filled.add(constant)
    return filled


def test_a_whole_record_is_taken_and_found_again() -> None:
    record = made()
    filled = registry(record)
    assert filled.get("a.length_mm") is record
    assert filled.reference(record.source) is WORK
    assert "a.length_mm" in filled
    assert list(filled) == [record]
    assert len(filled) == 1


@pytest.mark.parametrize("value", [1.0, 3.0])
def test_a_value_at_an_end_of_its_range_is_taken(value: float) -> None:
    assert made(value=value).value == value


@pytest.mark.parametrize("value", [math.nextafter(1.0, 0), math.nextafter(3.0, 4), 20.0, -2.0, math.inf, -math.inf, math.nan])
def test_a_value_outside_its_range_or_no_number_is_refused(value: float) -> None:
    with pytest.raises(ValueError, match=r"a\.length_mm = .* mm: outside its own range"):
        made(value=value)


@pytest.mark.parametrize("end", ["low", "high"])
def test_a_range_without_a_number_is_refused(end: str) -> None:
    with pytest.raises(ValueError, match="outside its own range"):
        made(**{end: math.nan})


@pytest.mark.parametrize("name", ["key", "unit", "meaning", "source", "population", "checked", "used_for"])
@pytest.mark.parametrize("empty", ["", "  "])
def test_a_record_without_one_of_its_texts_is_refused(name: str, empty: str) -> None:
    with pytest.raises(ValueError, match=f"{name} is empty"):
        made(**{name: empty})


@pytest.mark.parametrize("status", ["read", "read_second_hand", "memory", "derived", "choice", "common_practice"])
def test_each_of_our_statuses_is_taken(status: str) -> None:
    assert made(status=status).status == status


@pytest.mark.parametrize("status", ["read-2nd", "computed", "estimate", "judgement", "certain", ""])
def test_a_status_in_other_words_is_refused_until_it_is_translated(status: str) -> None:
    with pytest.raises(ValueError, match="is not one of ours"):
        made(status=status)


@pytest.mark.parametrize("kind", ["measured", "guideline", "convention", "judgement", "numerical"])
def test_each_of_our_kinds_is_taken(kind: str) -> None:
    assert made(kind=kind).kind == kind


def test_a_kind_in_other_words_is_refused() -> None:
    with pytest.raises(ValueError, match="is not one of ours"):
        made(kind="rumour")


def test_a_constant_of_an_unknown_work_is_refused() -> None:
    with pytest.raises(ValueError, match="unknown source 'another_work'"):
        registry(made(source="another_work"))


def test_a_second_constant_under_one_key_is_refused() -> None:
    with pytest.raises(ValueError, match=r"a\.length_mm: defined twice"):
        registry(made(), made(value=2.5))


def test_a_second_work_under_one_key_is_refused() -> None:
    with pytest.raises(ValueError, match="a_work: defined twice"):
        registry().add_reference(WORK)


def test_an_unknown_key_names_near_ones() -> None:
    with pytest.raises(KeyError, match=r"no evidence under 'a\.lenght_mm'; near it: a\.length_mm"):
        registry(made()).get("a.lenght_mm")
    with pytest.raises(KeyError, match="near it: nothing"):
        registry(made()).get("b.length_mm")


def test_a_record_cannot_be_changed() -> None:
    with pytest.raises(AttributeError):
        made().value = 9.0  # type: ignore[misc]  # that it is frozen is what is tested


@pytest.mark.parametrize("ends", [{"value": math.inf, "high": math.inf}, {"value": -math.inf, "low": -math.inf}])
def test_an_endless_value_is_refused_even_in_an_endless_range(ends: dict[str, float]) -> None:
    with pytest.raises(ValueError, match="outside its own range"):
        made(**ends)
