"""`collum bridge`: what it prints, in words and as JSON, and how it refuses."""

import json
from pathlib import Path
from typing import Any

import pytest

from tests.cli.conftest import Run


@pytest.fixture
def bridge_file(tmp_path: Path, document: dict[str, Any]) -> Path:
    """The overgrown lower premolar as one abutment, the molar behind the gap without readings."""
    document["bridges"] = [{"teeth": [45, 46, 47], "pontics": [46]}, {"teeth": [45, 15], "pontics": [46]}]
    file = tmp_path / "bridge.json"
    file.write_text(json.dumps(document), encoding="utf-8")
    return file


def test_in_words(run: Run, bridge_file: Path) -> None:
    ran = run("bridge", bridge_file, "--material", "monolithic_zirconia", "--connector-height", "4", "--connector-width", "2")
    assert (ran.status, ran.err) == (0, "")
    for words in (
        "bridge of zirconia",
        "45 lower right second",
        "lacks 2.7 mm2",  # 9 less pi / 4 x 4 x 2
        "How much attachment 47 has lost",
        "Jepsen (from memory)",
        "both jaws",
        "Not cleared",
    ):
        assert words in ran.out, words
    assert max(len(line) for line in ran.out.splitlines()) <= 100


def test_as_json(run: Run, bridge_file: Path) -> None:
    ran = run("bridge", bridge_file, "--json", "--room", "6.5")
    found = json.loads(ran.out)
    assert (ran.status, found["format"]) == (0, "collum-bridge/2")
    first, second = found["bridges"]
    assert first["fault"] is None and second["fault"]["key"] == "bridge.fault.two_jaws" and second["units"] == []
    assert [unit["number"] for unit in first["units"]] == [47, 46, 45]
    assert [unit["carries"] for unit in first["units"]] == [True, False, True]
    assert first["area_verdict"] == "not_assessed" and first["room"]["verdict"] == "enough"
    assert sum(unit["chewing_share"][1] for unit in first["units"] if unit["carries"]) == pytest.approx(1, abs=1e-5)
    assert first["imbalance_share"] < 1e-9
    assert {ratio["status"] for ratio in first["ratios"]} == {"memory"}
    assert [one["number"] for one in first["abutments"]] == [47, 45]
    assert first["abutments"][0]["route"] is None and first["abutments"][1]["route"] is not None
    assert first["earliest_final_weeks"] is None
    assert any(constant["key"] == "bridge.area_ratio_least" for constant in found["constants"])


def test_the_bed_of_a_pontic(run: Run, bridge_file: Path) -> None:
    given = ("--tissue", "46=2.0,3,3,2.5,x", "--room", "4")
    words = run("bridge", bridge_file, *given)
    assert words.status == 0
    for part in ("46: the tissue allows a hollow of 0.1 mm", "lingual –", "46: instead: a material that needs less room"):
        assert part in words.out, part
    pontic = json.loads(run("bridge", bridge_file, "--json", *given).out)["bridges"][0]["pontics"][0]
    assert pontic["depth_mm"][4] is None and pontic["depth_mm"][0] == pytest.approx(2 - 1 - 2.3263 * 0.4, abs=1e-4)
    assert (pontic["verdict"], pontic["hygienic_form_fits"]) == ("short", False)


@pytest.mark.parametrize(
    "typed", ["46=3,3,3,3", "46", "46=3,3,3,3,y", "99=3,3,3,3,3", "46=3,3,3,3,21", "46=3,3,3,3,-1", "46=1e3,3,3,3,3"]
)
def test_thicknesses_that_are_none_are_refused(run: Run, bridge_file: Path, typed: str) -> None:
    ran = run("bridge", bridge_file, "--tissue", typed)
    assert (ran.status, ran.out) == (2, "")
    assert "--tissue" in ran.err


def test_twice_the_same(run: Run, bridge_file: Path) -> None:
    assert run("bridge", bridge_file, "--json").out == run("bridge", bridge_file, "--json").out


def test_a_case_without_a_bridge_is_refused(run: Run, case_file: Path) -> None:
    ran = run("bridge", case_file)
    assert (ran.status, ran.out) == (2, "")
    assert "holds no bridge" in ran.err


@pytest.mark.parametrize(
    ("option", "value"),
    [("--connector-height", "0"), ("--connector-width", "-1"), ("--room", "-0.1"), ("--room", "21"), ("--room", "nan")],
)
def test_sizes_out_of_range_are_refused(run: Run, bridge_file: Path, option: str, value: str) -> None:
    ran = run("bridge", bridge_file, option, value)
    assert (ran.status, ran.out) == (2, "")
    assert option in ran.err


def test_an_unknown_material_is_refused(run: Run, bridge_file: Path) -> None:
    assert run("bridge", bridge_file, "--material", "wood").status == 2


def test_options_go_over_what_the_case_records(run: Run, tmp_path: Path, document: dict[str, Any]) -> None:
    document["format"] = "collum-case/2"
    wish = {"material": "metal", "room_mm": 3.5, "beds": [{"tooth": 46, "ridge": "width"}]}
    document["bridges"] = [{"teeth": [45, 47], "pontics": [46], **wish}]
    file = tmp_path / "recorded.json"
    file.write_text(json.dumps(document), encoding="utf-8")
    (recorded,) = json.loads(run("bridge", file, "--json").out)["bridges"]
    assert (recorded["material"], recorded["room"]["verdict"]) == ("metal", "tight")
    given = ("--material", "metal_ceramic", "--tissue", "46=3,3,3,3,x")
    (other,) = json.loads(run("bridge", file, "--json", *given).out)["bridges"]
    assert (other["material"], other["room"]["verdict"]) == ("metal_ceramic", "short")
    assert (other["pontics"][0]["ridge"], other["pontics"][0]["tissue_mm"]) == ("width", [3, 3, 3, 3, None])


def test_the_bed_of_no_pontic_is_refused(run: Run, bridge_file: Path) -> None:
    ran = run("bridge", bridge_file, "--tissue", "45=3,3,3,3,3")
    assert (ran.status, ran.out) == (2, "")
    assert "--tissue" in ran.err and "is no pontic" in ran.err and "46" in ran.err
