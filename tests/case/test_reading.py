"""Case files: sound ones round trip, bad ones are refused with every fault at once, nothing else is ever raised."""

import copy
import json
import re
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from collum.app.demo import demo_cases
from collum.app.speaking import fault_document, fault_line
from collum.case import CaseFaults, canonical_json, from_document, parse, read, schema, to_document
from collum.case.faults import Finder
from collum.case.layout import CASE
from collum.case.reading import MOST_BYTES
from collum.evidence import value
from tests.case.guide_keys import HEADING, with_parts
from tests.making.bad_cases import BAD_CASES, BadCase, sound_document
from tests.making.case_strategies import documents, sound_documents
from tests.making.teeth import case_of, overgrown_premolar

GUIDE = Path(__file__).parents[2] / "docs" / "guide" / "case-file.md"
VALIDATOR = jsonschema.Draft202012Validator(schema(), format_checker=jsonschema.FormatChecker(["date"]))


def faults_of(document: object) -> list[tuple[str, str]]:
    with pytest.raises(CaseFaults) as caught:
        from_document(document)
    for fault in caught.value.faults:
        assert fault_line(fault_document(fault))  # every fault has words
    return [(f.where, f.what.key.removeprefix("fault.what.")) for f in caught.value.faults]


def test_there_are_enough_kinds_of_bad_case() -> None:
    assert len(BAD_CASES) >= 80
    assert len({bad.name for bad in BAD_CASES}) == len(BAD_CASES)


@pytest.mark.parametrize("bad", BAD_CASES, ids=lambda bad: bad.name)
def test_bad_documents_are_refused_with_every_fault(bad: BadCase) -> None:
    found = faults_of(bad.document())
    assert [what for _, what in found] == [bad.what]
    assert found[0][0].startswith(bad.where)


def refusal_of(key: str, entry: Any) -> str:
    """What the reader of a faulty case is told, with `entry` under `key` of the tooth, its sites or the patient."""
    document = sound_document()
    tooth = document["teeth"][0]
    {"number": tooth, "reference": document["patient"]}.get(key, tooth["sites"])[key] = entry
    with pytest.raises(CaseFaults) as refused:
        from_document(document)
    return "; ".join(fault_line(fault_document(fault)) for fault in refused.value.faults)


def test_a_plain_universal_number_is_refused_with_the_way_to_write_it() -> None:
    assert "29 universal" in refusal_of("number", 29)
    document = sound_document()
    document["teeth"][0]["number"] = "29 universal"
    assert from_document(document).teeth[0].number == 45


def test_decimal_commas_are_named_as_such_in_a_text_and_in_a_list_that_is_twice_as_long() -> None:
    assert "write a point" in refusal_of("probing_depth", ["3,0", 3, 3, 3, 3, 3])
    assert "a comma parts two entries" in refusal_of("probing_depth", [3, 0] * 6)
    assert "comma" not in refusal_of("probing_depth", [3.5] * 7)
    assert "comma" not in refusal_of("probing_depth", [3, 4])


@pytest.mark.parametrize(("key", "entry"), [("reference", "Jane Doe"), ("order", ["B", "MF"])])
def test_a_form_is_told_in_words_and_never_as_a_pattern(key: str, entry: Any) -> None:
    told = refusal_of(key, entry)
    assert "[" not in told.split("allowed: ")[1]


def test_all_faults_come_at_once() -> None:
    document = sound_document()
    document["patient"]["phenotype"] = "fat"
    document["teeth"][0]["stat"] = "healthy"
    document["teeth"][0]["sites"]["probing_depth"][1] = 3.3
    document["teeth"][0]["number"] = 8
    assert {what for _, what in faults_of(document)} == {"not_a_choice", "unknown_key", "off_the_step", "universal_tooth"}


def test_faults_of_different_kinds_do_not_hide_each_other() -> None:
    document = sound_document()
    document["patient"]["phenotype"] = "fat"
    document["teeth"][0]["sites"]["keratinised_width"]["L"] = "not applicable"
    document["teeth"].append({"number": 45, "plaque_percent": 101})
    document["teeth"].append({"number": 8, "sites": {"order": ["F", "F"]}, "requirements": [{"id": "ferrule"}]})
    found = {what for _, what in faults_of(document)}
    assert found == {"not_a_choice", "no_palate", "tooth_twice", "out_of_range", "universal_tooth", "site_twice", "missing"}


def test_a_fault_names_tooth_and_site_beside_its_path() -> None:
    document = sound_document()
    tooth = document["teeth"][0]
    tooth["sites"]["probing_depth"][2] = [3.0, 99]
    tooth["restoration"]["finish"]["mm"] = 9
    tooth["number"] = "29 universal"
    assert [where for where, _ in faults_of(document)] == [
        "teeth[0].sites.probing_depth[2][1] (tooth 45, ML)",
        "teeth[0].restoration.finish.mm (tooth 45)",
    ]


def test_a_path_that_names_its_site_needs_nothing_beside_it() -> None:
    document = sound_document()
    document["teeth"][0]["sites"]["keratinised_width"]["F"] = 99
    assert faults_of(document) == [("teeth[0].sites.keratinised_width.F", "out_of_range")]


def test_thousands_of_unknown_keys_are_counted_not_listed() -> None:
    document = sound_document()
    document |= {f"patint{i}": 1 for i in range(3_000)}
    document["teeth"][0]["held"] = {"cut": {f"Q{i}": 1 for i in range(3_000)}}
    found = faults_of(document)
    assert len(found) == 42
    assert [where for where, what in found if what == "more_unknown"] == ["file", "teeth[0].held.cut (tooth 45)"]


def test_what_was_found_is_spelt_as_in_the_file() -> None:
    document = sound_document()
    document["teeth"][0]["vital"] = "y\u202ees"
    document["teeth"][0]["role"] = False
    with pytest.raises(CaseFaults) as caught:
        from_document(document)
    assert {fault.value for fault in caught.value.faults} == {'"y?es"', "false"}


def test_a_misspelt_key_is_told_its_neighbour() -> None:
    document = sound_document()
    document["teeth"][0]["sound_mesured"] = True
    with pytest.raises(CaseFaults) as caught:
        from_document(document)
    assert "did you mean sound_measured?" in fault_line(fault_document(caught.value.faults[0]))


@pytest.mark.parametrize(
    ("data", "kind", "what"),
    [
        (b"", "json", "not_json"),
        (b"{", "json", "not_json"),
        (b"[]", "json", "not_a_table"),
        (b"\xff\xfe", "json", "not_utf8"),
        (b'{"format": "collum-case/2", "format": "collum-case/2"}', "json", "duplicate_key"),
        (b'{"format": NaN}', "json", "not_finite"),
        (b'{"format": -Infinity}', "json", "not_finite"),
        (b"[" * 100_000, "json", "too_deep"),
        (b"[" * 20 + b"]" * 20, "json", "too_deep"),
        (b"[" + b"1," * 60_000 + b"1]", "json", "too_many"),
        (b" " * (MOST_BYTES + 1), "json", "too_large"),
        (b"a = ", "toml", "not_toml"),
        (b"a = 1\na = 2", "toml", "not_toml"),
        (b"a = " + b"[" * 50_000, "toml", "too_deep"),
        (b"a" + b".a" * 400_000 + b" = 1", "toml", "too_deep"),
        (b"[a" + b" . 'a'" * 100_000 + b"]", "toml", "too_deep"),
        (b"format = 0x" + b"f" * 9_000, "toml", "not_a_format"),
        (b'{"format": "collum-case/2", "patient": ' + b"9" * 5_000 + b"}", "json", "not_json"),
        (b"format = 'collum-case/1'\nx = nan", "toml", "missing"),
    ],
    ids=lambda p: str(p)[:24],
)
def test_bad_bytes(data: bytes, kind: Any, what: str) -> None:
    with pytest.raises(CaseFaults) as caught:
        read(data, kind=kind)
    assert what in {f.what.key.removeprefix("fault.what.") for f in caught.value.faults}


def test_both_spellings_of_readings_are_the_same_case() -> None:
    listed = sound_document()
    tabled = copy.deepcopy(listed)
    sites = tabled["teeth"][0]["sites"]
    for kind in ("probing_depth", "bone_sounding", "crown_height", "sound_height"):
        sites[kind] = dict(zip(sites["order"], sites[kind], strict=True))
    assert from_document(listed) == from_document(tabled)


def test_both_numberings_name_the_same_tooth() -> None:
    for number in (45, "45 iso", "29 universal"):
        document = sound_document()
        document["teeth"][0]["number"] = number
        assert from_document(document).teeth[0].number == 45
    document = sound_document()
    del document["teeth"][0]["number"]
    document["teeth"][0]["universal"] = 29
    assert from_document(document).teeth[0].number == 45


@pytest.mark.parametrize(
    ("finish", "low", "high"),
    [
        ({"position": "in the sulcus", "mm": 0.5}, -0.5, 0.0),
        ({"position": "in the sulcus"}, -0.5, 0.0),
        ({"position": "at the margin"}, 0.0, 0.5),
        ({"position": "supragingival", "mm": 1.0}, 1.0, None),
    ],
)
def test_a_wish_becomes_a_range(finish: dict[str, object], low: float, high: float | None) -> None:
    document = sound_document()
    document["teeth"][0]["restoration"]["finish"] = finish
    wish = from_document(document).teeth[0].restoration.finish
    assert wish is not None
    assert (wish.low_mm, wish.high_mm) == (low, high)


def test_readings_say_what_they_are() -> None:
    document = sound_document()
    sites = document["teeth"][0]["sites"]
    sites["probing_depth"][0] = {"beyond": 10.0}
    sites["probing_depth"][1] = [3.5, {"value": 3.0, "error": 0.7, "date": "2026-04-02", "examiner": "ab"}]
    tooth = from_document(document).teeth[0]
    beyond = tooth.readings["probing_depth"]["F"][0]
    assert (beyond.outcome, beyond.value_mm) == ("beyond", 10.0)
    assert [r.error_mm for r in tooth.readings["probing_depth"]["MF"]] == [None, 0.7]
    assert tooth.readings["sound_height"]["DF"][0].outcome == "not measurable"
    assert tooth.readings["sound_height"]["DF"][0].value_mm is None


def test_a_sounding_within_a_step_of_the_probing_is_taken() -> None:
    document = sound_document()
    document["teeth"][0]["sites"]["bone_sounding"][0] = 2.5
    assert from_document(document).teeth[0].readings["bone_sounding"]["F"][0].value_mm == 2.5


def test_of_two_steps_the_coarser_says_how_far_a_sounding_may_stay_short() -> None:
    document = sound_document()
    document["teeth"][0]["sites"]["probing_depth"][0] = {"value": 3.0, "step": 0.5}
    document["teeth"][0]["sites"]["bone_sounding"][0] = {"value": 2.0, "step": 1.0}
    assert from_document(document).teeth[0].readings["bone_sounding"]["F"][0].value_mm == 2.0
    document["teeth"][0]["sites"]["bone_sounding"][0]["step"] = 0.5
    assert faults_of(document)[0][1] == "sounding_under_probing"


@pytest.mark.parametrize("over", [0.0, 0.1])
def test_hard_floors_are_refused_just_below_and_taken_at_them(over: float) -> None:
    floor = value("plan.limit.clear_of_bone_mm")
    document = sound_document()
    document["teeth"][0]["requirements"] = [{"id": "clear_of_bone", "limit": floor + over, "reason": "thin plate"}]
    assert from_document(document).teeth[0].requirements[0].limit == floor + over
    document["teeth"][0]["requirements"][0]["limit"] = floor - 1e-9
    assert faults_of(document)[0][1] == "below_floor"


@given(sound_documents())
@settings(max_examples=30)
def test_round_trip_of_any_case(document: dict[str, Any]) -> None:
    case = from_document(document)
    canonical = to_document(case)
    assert from_document(canonical) == case
    assert canonical_json(to_document(from_document(canonical))) == canonical_json(canonical)
    assert read(canonical_json(canonical), kind="json") == case
    assert VALIDATOR.is_valid(canonical)


def test_words_keep_the_step_of_their_kind() -> None:
    document = sound_document()
    document["teeth"][0]["sites"]["sound_height"] = [{"value": 3, "step": 1}] * 5 + ["not measurable"]
    case = from_document(document)
    assert from_document(to_document(case)) == case
    assert case.teeth[0].readings["sound_height"]["DF"][0].step_mm == 0.5


@pytest.mark.parametrize("step", [0.5, 1.0, {"probing_depth": 0.5, "bone_sounding": 1.0}], ids=["half", "whole", "by kind"])
def test_a_step_is_kept_before_anything_was_read_with_it(step: object) -> None:
    document = sound_document()
    document["teeth"][0]["sites"] = {"order": ["F", "L"], "step": step}
    assert to_document(from_document(document))["teeth"][0]["sites"]["step"] == step


def test_what_was_not_stated_is_taken_as_the_format_says_and_never_written_as_stated() -> None:
    document = sound_document()
    document["patient"] = {"reference": "K-014"}
    document["teeth"] = [{"number": 35, "restoration": {"occlusal_reduction_mm": 1.5}}]
    case = from_document(document)
    tooth = case.teeth[0]
    taken = (tooth.role, tooth.state, tooth.contact_mesial, tooth.contact_distal, tooth.restoration.kind)
    assert taken == ("crown", "unknown", "tooth", "tooth", "full crown")
    assert case.patient.phenotype == "unknown"
    canonical = to_document(case)
    assert canonical["patient"] == {"reference": "K-014"}
    assert canonical["teeth"] == [{"number": 35, "restoration": {"occlusal_reduction_mm": 1.5}}]


def test_what_was_stated_stays_stated_although_it_is_what_would_be_taken() -> None:
    stated = {
        "number": 35,
        "role": "crown",
        "state": "unknown",
        "contact": {"mesial": "tooth", "distal": "tooth"},
        "restoration": {"kind": "full crown"},
    }
    document = {**sound_document(), "patient": {"reference": "K-014", "phenotype": "unknown"}, "teeth": [stated]}
    canonical = to_document(from_document(document))
    assert canonical["teeth"] == [stated]
    assert canonical["patient"] == document["patient"]


def test_minus_nothing_is_written_as_nothing() -> None:
    document = sound_document()
    document["teeth"][0]["sites"]["sound_height"][0] = -0.0
    assert b"-0.0" not in canonical_json(to_document(from_document(document)))


def test_typed_cases_survive_too() -> None:
    case = case_of(overgrown_premolar(), "thick")
    assert from_document(to_document(case)) == case
    for demo in demo_cases():
        assert from_document(to_document(demo)) == demo


NONSENSE = st.recursive(
    st.one_of(st.none(), st.booleans(), st.integers(), st.floats(allow_nan=False), st.text(max_size=6)),
    lambda inner: st.one_of(st.lists(inner, max_size=3), st.dictionaries(st.text(max_size=6), inner, max_size=3)),
    max_leaves=6,
)


def places(document: object, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    found = [path] if path else []
    pairs = document.items() if isinstance(document, dict) else enumerate(document) if isinstance(document, list) else ()
    for key, below in pairs:
        found += places(below, (*path, key))
    return found


def spoil(document: Any, data: st.DataObject) -> None:
    """Put nonsense at up to three places of a document."""
    for _ in range(data.draw(st.integers(1, 3))):
        *path, last = data.draw(st.sampled_from(places(document)))
        target = document
        for part in path:
            target = target[part]
        target[last] = data.draw(NONSENSE)


@pytest.mark.parametrize("start", [st.builds(sound_document), sound_documents(), documents()], ids=["plain", "sound", "drawn"])
@given(data=st.data())
@settings(max_examples=60)
def test_nonsense_anywhere_gives_faults_and_nothing_else(start: st.SearchStrategy[Any], data: st.DataObject) -> None:
    document = data.draw(start)
    spoil(document, data)
    try:
        case = from_document(document)
    except CaseFaults as refused:
        for fault in refused.faults:
            assert fault_line(fault_document(fault)).isprintable()
    else:
        assert from_document(to_document(case)) == case


@given(st.binary(max_size=200))
def test_any_bytes_give_faults_and_nothing_else(data: bytes) -> None:
    for kind in ("json", "toml"):
        with pytest.raises(CaseFaults):
            read(data, kind=kind)


def right_in_shape(document: object) -> bool:
    finder = Finder()
    CASE.check(document, "", finder)
    return not finder.faults


def test_the_schema_refuses_what_the_reader_refuses_by_shape() -> None:
    for bad in BAD_CASES:
        document = bad.document()
        if bad.name not in ("not finite", "phenotype of 9000 digits"):  # no JSON file can hold them
            assert VALIDATOR.is_valid(document) == right_in_shape(document), bad.name


@given(st.data())
@settings(max_examples=25)
def test_the_schema_takes_exactly_what_the_shapes_take(data: st.DataObject) -> None:
    document = data.draw(documents())
    spoil(document, data)
    assert VALIDATOR.is_valid(document) == right_in_shape(document)


@pytest.mark.parametrize("version", [0, 4])
def test_there_is_no_schema_of_another_number(version: int) -> None:
    assert schema(3) == schema() != schema(2) != schema(1)
    with pytest.raises(KeyError):
        schema(version)


@pytest.mark.slow  # who reads a key is recorded while every part answers
def test_the_guide_lists_every_key_with_what_it_takes_and_who_reads_it() -> None:
    page = GUIDE.read_text(encoding="utf-8")
    assert page == with_parts(page), "both parts are put into the page by python -m tests.case.guide_keys"
    closing = ("vertical_root_fracture", "ankylosis", "implant_beside", "mobility.grade", "anchorage", "caries_restorable")
    for key in (*(f"teeth[].{key}" for key in closing), "patient.stops"):
        assert re.search(rf"^\| `{re.escape(key)}`.* \| routes[^|]* \|$", page, flags=re.MULTILINE), key
    assert {key for key in _keys(schema()) if f"`{key}`" not in page[: page.index(HEADING)]} == set()


def test_the_example_of_the_guide_reads() -> None:
    (example,) = re.findall(r"```toml\n(.*?)```", GUIDE.read_text(encoding="utf-8"), flags=re.DOTALL)
    case = read(example.encode(), kind="toml")
    assert case.teeth[0].readings["bone_sounding"]["DF"][0].error_mm == 0.8


def _keys(shape: Any) -> set[str]:
    found = set(shape.get("properties", {}))
    for below in (
        *shape.get("properties", {}).values(),
        *shape.get("patternProperties", {}).values(),
        *shape.get("anyOf", ()),
        *([shape["items"]] if "items" in shape else ()),
    ):
        found |= _keys(below)
    return found


@pytest.mark.parametrize("number", [1, 2, 3])
def test_a_full_file_of_every_format_number_is_read(number: int, pytestconfig: pytest.Config) -> None:
    path = pytestconfig.rootpath / "tests" / "case_versions" / f"case-{number}.json"
    data = path.read_bytes()
    case = read(data, kind="json")
    assert from_document(to_document(case)) == case
    jsonschema.validate(json.loads(data), schema(number))
    used = _used(parse(data, kind="json"))
    assert _keys(schema(number)) - used <= {"universal"}  # a tooth has one number


def _used(document: Any) -> set[str]:
    if isinstance(document, dict):
        return set(document) | {k for below in document.values() for k in _used(below)}
    if isinstance(document, list):
        return {k for below in document for k in _used(below)}
    return set()


def test_json_and_toml_of_the_same_case_agree() -> None:
    toml = b"""
format = "collum-case/2"
[patient]
reference = "T-1"
[[teeth]]
number = 11
overgrowth = { cause = "plaque", controlled_since = 2026-01-31 }
[teeth.sites]
order = ["F", "45"]
probing_depth = [2, 3]
"""
    document = {
        "format": "collum-case/2",
        "patient": {"reference": "T-1"},
        "teeth": [
            {
                "number": 11,
                "overgrowth": {"cause": "plaque", "controlled_since": "2026-01-31"},
                "sites": {"order": ["F", "45"], "probing_depth": [2, 3]},
            }
        ],
    }
    assert read(toml, kind="toml") == read(json.dumps(document).encode(), kind="json")
