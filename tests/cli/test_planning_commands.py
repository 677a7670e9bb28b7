"""`collum plan` and `collum report`: results on the standard output, faults on the other, nothing half written."""

import json
import re
from pathlib import Path
from typing import Any, get_args, get_type_hints

import pytest

from collum.app.plans.planning import Planner
from collum.case import from_document, to_document
from collum.cli.plan_commands import report
from collum.papers import PAPER_KINDS
from collum.papers.head import verdict_words
from collum.wire.plan.document import PlanDocument
from collum.wording import text
from tests.cli.conftest import Run
from tests.making.teeth import broken_premolar, case_of


def test_the_plan_as_json_is_the_plan(run: Run, case_file: Path, document: dict[str, Any]) -> None:
    ran = run("plan", case_file, "--json")
    assert (ran.status, ran.err) == (0, "")
    assert PlanDocument.model_validate_json(ran.out) == Planner(300).plan(from_document(document))


def test_the_plan_is_the_same_from_a_file_and_from_standard_input(run: Run, case_file: Path) -> None:
    from_file = run("plan", case_file, "--json")
    from_pipe = run("plan", "-", "--json", stdin=b"\n " + case_file.read_bytes())
    assert from_pipe == from_file


def test_toml_is_read_by_its_ending_and_from_standard_input(run: Run, tmp_path: Path) -> None:
    toml = b'format = "collum-case/1"\n[patient]\nreference = "T-9"\n[[teeth]]\nnumber = 99\n'
    (tmp_path / "case.TOML").write_bytes(toml)
    for ran in (run("plan", tmp_path / "case.TOML"), run("plan", "-", stdin=toml)):
        assert ran.status == 2
        assert ran.err.startswith("teeth[0].number: ")


def test_seed_and_draws_are_taken_and_printed(run: Run, case_file: Path) -> None:
    made = json.loads(run("plan", case_file, "--json", "--seed", 12, "--draws", 200).out)
    assert (made["seed"], made["draws"]) == (12, 200)


def test_the_text_gives_a_dentist_the_answer(run: Run, case_file: Path) -> None:
    ran = run("plan", case_file)
    made = json.loads(run("plan", case_file, "--json").out)["teeth"][0]
    route = next(r for r in made["routes"] if r["name"] == made["recommended_route"])
    assert (ran.status, ran.err) == (0, "")
    for other in made["routes"]:
        row = next(line for line in ran.out.splitlines() if line.strip().startswith(text(f"screen.route.name.{other['name']}")))
        assert verdict_words(other) in row
    assert "tooth 45 (universal 29), lower right second premolar" in ran.out
    assert f"{verdict_words(route).upper()}; all requirements together are met in" in ran.out
    place = text("cli.plan.at", {"station_deg": route["weakest"]["station_deg"]}, made["number"])
    weakest = next(line for line in ran.out.splitlines() if line.strip().startswith(text("cli.plan.weakest")))
    assert text(f"paper.requirement.{route['weakest']['id']}") in weakest and place in weakest
    assert "Not cleared: safety questions unanswered." in ran.out
    assert f"Seed {Planner(300).plan(from_document(json.loads(case_file.read_text()))).seed}, 300 draws" in ran.out
    for sentence in route["explanation"]:
        assert sentence["text"] in re.sub(r"\s+", " ", ran.out)
    for site in route["sites"]:
        row = next(line for line in ran.out.splitlines() if line.split()[:1] == [site["site"]])
        assert f"{site['bone_below_margin_mm']:.1f}" in row.split()
        if site["cut"]:
            assert row.split()[1] == f"{site['stop_below_margin_mm']:.1f}"
    for requirement in route["requirements"]:
        if requirement["short_by_mm"] is not None:
            assert f"{requirement['short_by_mm']:.1f}" in ran.out


@pytest.mark.parametrize(
    ("asked", "name"),
    [
        ("without-lengthening", "restore without lengthening"),
        ("soft-tissue", "soft tissue only"),
        ("bone", "soft tissue and bone"),
        ("extrusion", "extrusion first"),
    ],
)
def test_any_route_can_be_told_whole(run: Run, tmp_path: Path, asked: str, name: str) -> None:
    file = tmp_path / "broken.json"
    file.write_text(json.dumps(to_document(case_of(broken_premolar()))))
    ran = run("plan", file, "--route", asked)
    made = json.loads(run("plan", file, "--json").out)["teeth"][0]
    route = next(r for r in made["routes"] if r["name"] == name)
    told = re.sub(r"\s+", " ", ran.out)
    assert f"{text(f'screen.route.name.{name}')} " in told
    for sentence in (*route["means"], *route["staged"]):
        assert sentence["text"] in told
    if name == "soft tissue and bone":
        assert f"{max(site['bone_reduction_mm'] for site in route['sites']):.1f}" in ran.out


def test_the_text_fits_100_columns_without_colour_or_padding(run: Run, case_file: Path) -> None:
    lines = run("plan", case_file).out.splitlines()
    assert max(len(line) for line in lines) <= 100
    assert not any(line != line.rstrip() for line in lines)
    assert not any("\x1b" in line for line in lines)


def test_a_terminal_gets_emphasis_unless_colour_is_refused(run: Run, case_file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.stdout.isatty", lambda: True)
    monkeypatch.setenv("TERM", "xterm-256color")
    monkeypatch.delenv("NO_COLOR", raising=False)
    assert "\x1b[1m" in run("plan", case_file).out
    monkeypatch.setenv("NO_COLOR", "1")
    assert "\x1b" not in run("plan", case_file).out


def test_a_closed_route_offers_no_line_and_names_the_fact(run: Run, tmp_path: Path, document: dict[str, Any]) -> None:
    document["teeth"][0]["bleeding"] = ["DL"]
    file = tmp_path / "bleeding.json"
    file.write_text(json.dumps(document), encoding="utf-8")
    ran = run("plan", file)
    assert ran.status == 0
    assert "CLOSED" in ran.out and re.search(r"Decided by +Bleeding on probing, 4 mm or more at DL", ran.out)
    assert "Site by site" not in ran.out and "finish line" not in ran.out


def test_one_tooth_of_several_can_be_asked_for_in_both_numberings(run: Run, tmp_path: Path, document: dict[str, Any]) -> None:
    other = json.loads(json.dumps(document["teeth"][0])) | {"number": 35}
    several = tmp_path / "several.json"
    several.write_text(json.dumps(document | {"teeth": [document["teeth"][0], other]}), encoding="utf-8")

    def shown(*options: str) -> list[int]:
        return [tooth["number"] for tooth in json.loads(run("plan", several, "--json", *options).out)["teeth"]]

    assert shown() == [45, 35]
    assert shown("--tooth", "35") == shown("--tooth", "20 universal") == [35]
    ran = run("plan", several, "--tooth", "36")
    assert (ran.status, ran.out) == (2, "")
    assert ran.err == "--tooth: is not planned in this case (36); allowed: 45, 35\n"
    for strange in ("", "x", "99 universal", "35 bogus"):
        assert run("plan", several, "--tooth", strange).status == 2
    ran = run("report", several, "--pdf", tmp_path / "out.pdf")
    assert (ran.status, (tmp_path / "out.pdf").exists()) == (2, False)
    assert "45, 35" in ran.err


def test_a_case_of_neighbours_alone_has_no_plan(run: Run, tmp_path: Path, document: dict[str, Any]) -> None:
    document["teeth"][0]["role"] = "neighbour"
    file = tmp_path / "neighbour.json"
    file.write_text(json.dumps(document), encoding="utf-8")
    ran = run("plan", file)
    assert (ran.status, ran.out) == (2, "")
    assert ran.err.startswith("CASE: has no tooth to plan; allowed: ")


BROKEN: dict[str, bytes] = {
    "empty": b"",
    "not text": b"\xff\xfe\x00",
    "cut short": b'{"format": "collum-case/1", "patient"',
    "a list": b"[]",
    "a number": b"7",
    "no format": b'{"patient": {"reference": "A"}, "teeth": []}',
    "newer": b'{"format": "collum-case/99"}',
    "key twice": b'{"format": "collum-case/1", "format": "collum-case/1"}',
    "not a number": b'{"format": "collum-case/1", "teeth": NaN}',
    "deep": b"[" * 100_000,
    "large": b'"' + b"x" * 1_100_000 + b'"',
    "line break in a key": b'{"format": "collum-case/1", "a\\nb": 1, "patient": {"reference": "A"}, "teeth": [{"number": 35}]}',
}


@pytest.mark.parametrize("data", BROKEN.values(), ids=BROKEN.keys())
@pytest.mark.parametrize("command", ["plan", "report"])
def test_broken_files_end_with_2_and_one_line_for_each_fault(run: Run, tmp_path: Path, data: bytes, command: str) -> None:
    (tmp_path / "broken.json").write_bytes(data)
    before = sorted(tmp_path.iterdir())
    target = ["--pdf", tmp_path / "out.pdf"] if command == "report" else []
    ran = run(command, tmp_path / "broken.json", *target)
    assert (ran.status, ran.out) == (2, "")
    assert ran.err
    for line in ran.err.splitlines():
        assert re.fullmatch(r".+: .+; allowed: .+", line)
    assert "Traceback" not in ran.err
    assert sorted(tmp_path.iterdir()) == before


def test_all_faults_come_at_once_and_as_json_where_asked(run: Run, tmp_path: Path, document: dict[str, Any]) -> None:
    document["teeth"][0]["sites"]["probing_depth"]["F"] = "deep"
    document["teeth"][0]["vital"] = "yes"
    document["patient"]["reference"] = "two words"
    file = tmp_path / "broken.json"
    file.write_text(json.dumps(document), encoding="utf-8")
    as_text = run("plan", file)
    as_json = run("plan", file, "--json", "--errors", "json")
    errors = json.loads(as_json.err)["errors"]
    assert len(errors) == len(as_text.err.splitlines()) == 3
    assert all(set(error) == {"where", "what", "allowed", "value"} for error in errors)
    assert [line.split(": ")[0] for line in as_text.err.splitlines()] == [error["where"] for error in errors]


@pytest.mark.parametrize("name", ["missing.json", ".", "a\0b"])
def test_a_file_that_cannot_be_read_is_a_fault(run: Run, tmp_path: Path, name: str) -> None:
    ran = run("plan", f"{tmp_path}/{name}")
    assert (ran.status, ran.out) == (2, "")
    assert ran.err == "CASE: cannot be read as a file; allowed: a TOML or JSON file, or - for the standard input\n"


@pytest.mark.parametrize("kind", ["plan-sheet", "findings-sheet"])
def test_a_report_is_written_whole(run: Run, case_file: Path, tmp_path: Path, kind: str) -> None:
    ran = run("report", case_file, "--pdf", tmp_path / "out.pdf", "--paper", kind)
    assert (ran.status, ran.out, ran.err) == (0, "", "")
    assert (tmp_path / "out.pdf").read_bytes().startswith(b"%PDF-")
    assert sorted(file.name for file in tmp_path.iterdir()) == ["case.json", "out.pdf"]


def test_every_paper_can_be_asked_for() -> None:
    """The command line names the kinds itself, so that asking for help does not load the typesetter."""
    assert get_args(get_args(get_type_hints(report, include_extras=True)["paper"])[0]) == PAPER_KINDS
    for kind in PAPER_KINDS:
        assert kind in text("cli.option.paper")


@pytest.mark.parametrize("kind", ["flap-sheet", "extrusion-sheet"])
def test_a_sheet_of_surgery_is_refused_where_the_plan_does_not_open_its_route(
    run: Run, document: dict[str, Any], tmp_path: Path, kind: str
) -> None:
    document["teeth"][0]["vertical_root_fracture"] = True
    (tmp_path / "case.json").write_text(json.dumps(document), encoding="utf-8")
    ran = run("report", tmp_path / "case.json", "--pdf", tmp_path / "out.pdf", "--paper", kind)
    assert (ran.status, ran.out) == (3, "")
    assert "is closed in this plan" in ran.err
    assert not (tmp_path / "out.pdf").exists()


def test_a_report_never_writes_over_a_file_unless_forced(run: Run, case_file: Path, tmp_path: Path) -> None:
    target = tmp_path / "out.pdf"
    target.write_text("mine", encoding="utf-8")
    ran = run("report", case_file, "--pdf", target)
    assert (ran.status, target.read_text(encoding="utf-8")) == (2, "mine")
    assert ran.err == "--pdf: exists already; allowed: a new name, or --force\n"
    assert run("report", case_file, "--pdf", target, "--force").status == 0
    assert target.read_bytes().startswith(b"%PDF-")


def test_a_report_that_cannot_be_written_leaves_nothing(
    run: Run, case_file: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    ran = run("report", case_file, "--pdf", tmp_path / "gone" / "out.pdf")
    assert (ran.status, ran.err) == (4, "The file could not be written. Nothing was left behind.\n")

    def full(_descriptor: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", full)
    assert run("report", case_file, "--pdf", tmp_path / "out.pdf").status == 4
    assert sorted(file.name for file in tmp_path.iterdir()) == ["case.json"]


def test_a_fault_of_our_own_gives_an_id_and_no_traceback(
    run: Run, case_file: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_arguments: object, **_named: object) -> None:
        raise RuntimeError("ZQX-7731")

    monkeypatch.setattr(Planner, "plan", broken)
    ran = run("plan", case_file)
    assert (ran.status, ran.out) == (1, "")
    noted = (tmp_path / "data" / "log" / "collum.jsonl").read_text(encoding="utf-8")
    identity = json.loads(noted)["id"]
    assert identity in ran.err
    assert "Traceback" not in ran.err
    assert "ZQX-7731" not in ran.err + noted
    assert "case.json" not in noted
    assert "cli/plan_commands.py:" in noted
