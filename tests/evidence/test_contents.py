"""The records themselves: whole, of a true source, used as they say, and no number of theirs a second time in the program."""

import ast
import importlib
import pkgutil
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

import collum.evidence
from collum import evidence
from collum.evidence.handed import HealingLaw, NeckPriors, PlanLimits, keys_of

SOURCE = Path(collum.evidence.__file__).parent.parent
NO_BARE_NUMBER_IN = ("core", "plan", "wire", "case", "papers", "readers")
# Records of what is asked and warned of: they name numbers of the registry.
RULES_OF_EVIDENCE = ("safety_rules.py", "safety_drugs.py")
PLAIN_NUMBERS = {0.0, 1.0, 2.0, 0.5}


def test_every_part_of_the_package_is_joined() -> None:
    names = [part.name for part in pkgutil.iter_modules(evidence.__path__)]
    parts = [importlib.import_module(f"collum.evidence.{name}") for name in names]
    defined = {constant.key for part in parts for constant in getattr(part, "CONSTANTS", ())}
    assert {constant.key for constant in evidence.all_constants()} == defined


def test_a_number_its_record_and_its_work_are_found_by_key() -> None:
    record = evidence.get("plan.limit.clear_of_crest_mm")
    assert evidence.value("plan.limit.clear_of_crest_mm") == record.value == 2.5
    assert evidence.reference(record.source) in evidence.all_references()
    with pytest.raises(KeyError, match="near it"):
        evidence.value("plan.limit.clear_of_crust_mm")
    with pytest.raises(KeyError):
        evidence.reference("nobody1900")


def test_references_are_texts_without_an_address() -> None:
    for work in evidence.all_references():
        assert re.fullmatch(r"[a-z][a-z0-9_]+", work.key), work.key
        assert len(work.citation) > 8, work.key
        assert "://" not in work.citation and "www." not in work.citation, work.key


def test_keys_are_dotted_words_and_a_unit_in_the_key_is_the_unit_of_the_record() -> None:
    for constant in evidence.all_constants():
        assert re.fullmatch(r"[a-z][a-z0-9_]*(\.[a-z0-9_]+)+", constant.key), constant.key
        for ending, unit in (("_mm", "mm"), ("_deg", "deg"), ("_weeks", "weeks"), ("_mm2", "mm2")):
            if constant.key.endswith(ending):
                assert constant.unit == unit, constant.key


def test_a_decision_of_ours_is_marked_as_one_and_nothing_else_is() -> None:
    for constant in evidence.all_constants():
        if constant.source == "collum_decision":
            assert constant.status in ("choice", "derived"), constant.key
        if constant.status == "choice":
            assert constant.source == "collum_decision", constant.key
        if constant.status == "common_practice":
            assert constant.source == "common_practice", constant.key


def test_a_floor_that_may_not_be_edited_lies_within_the_range_and_never_rests_on_memory() -> None:
    for constant in evidence.all_constants():
        floor, ceiling = constant.editable_down_to, constant.editable_up_to
        if floor is None and ceiling is None:
            continue
        assert constant.status != "memory", constant.key
        assert floor is None or constant.low <= floor <= constant.value, constant.key
        assert ceiling is None or constant.value <= ceiling <= constant.high, constant.key


def test_handbook_figures_are_called_read_only_where_they_were_seen() -> None:
    assert evidence.get("tooth.upper1.md_cervix_mm").status == "read"
    assert evidence.get("tooth.upper1.bl_cervix_mm").status == "memory"
    assert evidence.get("tooth.upper3.root_length_mm").status == "read"
    assert evidence.get("tooth.upper3.md_cervix_mm").status == "memory"
    assert evidence.get("tooth.upper6.bl_cervix_mm").status == "read_second_hand"
    assert {
        c.status
        for c in evidence.all_constants()
        if c.key.startswith(("tooth.lower7", "tooth.lower8")) and "groove" not in c.key
    } == {"memory"}


def test_every_key_asked_for_in_the_program_exists() -> None:
    known = {constant.key for constant in evidence.all_constants()}
    asked = {key for _, key in _keys_asked_for()}
    assert len(asked) > 40
    assert asked <= known, sorted(asked - known)


def test_no_clinical_number_stands_outside_the_registry() -> None:
    bare = [
        f"{path.relative_to(SOURCE)}:{node.lineno} {node.value}"
        for part in NO_BARE_NUMBER_IN
        for path in sorted((SOURCE / part).rglob("*.py"))
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Constant) and isinstance(node.value, float) and node.value not in PLAIN_NUMBERS
    ]
    assert bare == []


def _keys_asked_for() -> Iterator[tuple[Path, str]]:
    for path in sorted(SOURCE.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not (isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in ("value", "get")):
                continue
            first = node.args[0] if node.args else None
            if isinstance(first, ast.Constant) and isinstance(first.value, str) and "." in first.value:
                yield path, first.value


def test_a_number_that_nothing_in_the_program_names_is_marked_as_information_and_no_other() -> None:
    written, put_together = _names_in_the_program()
    handed = {key for part in (NeckPriors, HealingLaw, PlanLimits) for key in keys_of(part).values()}
    marked = {c.key for c in evidence.all_constants() if c.used_for.startswith("information: ")}
    named = {c.key for c in evidence.all_constants() if c.key in written | handed or put_together.fullmatch(c.key)}
    assert {c.key for c in evidence.all_constants()} - named - marked == set()
    assert marked & (written | handed) == set()


@cache
def _names_in_the_program() -> tuple[set[str], re.Pattern[str]]:
    """Return the texts written in code, and the pattern of keys put together of a fixed first part and names."""
    written, patterns = set[str](), set[str]()
    for path in sorted(SOURCE.rglob("*.py")):
        if path.parent.name == "evidence" and path.name not in RULES_OF_EVIDENCE:
            continue
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                written.add(node.value)
            elif (
                isinstance(node, ast.JoinedStr)
                and isinstance(node.values[0], ast.Constant)
                and "." in str(node.values[0].value)
            ):
                patterns.add(
                    "".join(re.escape(str(v.value)) if isinstance(v, ast.Constant) else r"[a-z0-9_.]+" for v in node.values)
                )
    return written, re.compile("|".join(sorted(patterns)))
