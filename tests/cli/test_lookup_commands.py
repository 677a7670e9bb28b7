"""`collum schema`, `evidence`, `settings`, `openapi`, and how the command line itself is used."""

import json
from pathlib import Path
from typing import Any

import jsonschema
import pytest

import collum
from collum.app.practice import open_practice
from collum.app.settings import NAMES
from collum.cli.main import command_line
from collum.cli.own_command import own_command
from collum.evidence import all_constants
from tests.cli.conftest import Run
from tests.making.environment import FixedEnvironment

COMMANDS = {name.name for name in command_line().registered_commands}


def test_the_schema_takes_a_case_and_refuses_another(run: Run, document: dict[str, Any]) -> None:
    schema = json.loads(run("schema").out)
    jsonschema.validate(document, schema)
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(document | {"colour": "red"}, schema)
    assert run("schema", "--version", 3).out == run("schema").out != run("schema", "--version", 1).out
    ran = run("schema", "--version", 99)
    assert (ran.status, ran.out, ran.err) == (2, "", "--version: is no format number (99); allowed: 1 to 3\n")


def test_the_version_is_said(run: Run) -> None:
    ran = run("--version")
    assert (ran.status, ran.out, ran.err) == (0, f"collum {collum.__version__}\n", "")


def test_every_number_is_listed_and_one_is_told_whole(run: Run) -> None:
    lines = run("evidence").out.splitlines()
    assert [line.split()[0] for line in lines] == [constant.key for constant in all_constants()]
    told = run("evidence", "plan.limit.ferrule_mm").out
    assert "value" in told and "2 mm" in told and "how known" in told
    found = json.loads(run("evidence", "plan.limit.ferrule_mm", "--json").out)
    assert (found["value"], found["unit"]) == (2.0, "mm")
    assert found["citation"]
    assert len(json.loads(run("evidence", "--json").out)) == len(lines)


def test_an_unknown_key_gets_the_nearest(run: Run) -> None:
    ran = run("evidence", "plan.limit.ferule_mm")
    assert (ran.status, ran.out) == (2, "")
    assert ran.err.startswith("KEY: is the key of no number (plan.limit.ferule_mm); allowed: plan.limit.ferrule_mm")


def test_settings_say_value_and_origin(run: Run, tmp_path: Path) -> None:
    found = json.loads(run("settings", "--json", "--port", 99).out)
    assert found["port"] == {"value": 99, "origin": "flag"}
    assert found["draws"] == {"value": 300, "origin": "environment"}
    assert found["data"] == {"value": str(tmp_path / "data"), "origin": "environment"}
    assert "port = 8734   (default)" in run("settings").out.splitlines()


def test_faulty_settings_are_all_named(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLLUM_PORT", "none")
    monkeypatch.setenv("COLLUM_COLOUR", "red")
    ran = run("settings")
    assert (ran.status, ran.out) == (2, "")
    assert ran.err.splitlines() == [
        f"COLLUM_COLOUR: is not a known setting; allowed: {', '.join(NAMES)}",
        "COLLUM_PORT: is no value for this setting (none); allowed: a whole number from 0 to 65535",
    ]


def test_the_interface_is_described(run: Run) -> None:
    assert "/api/v1/plan" in json.loads(run("openapi").out)["paths"]


@pytest.mark.parametrize("arguments", [["nonsense"], ["plan"], ["plan", "-", "--nonsense"], ["plan", "-", "--seed", "-1"]])
def test_wrong_usage_ends_with_2_in_the_same_form(run: Run, arguments: list[str]) -> None:
    ran = run(*arguments)
    assert (ran.status, ran.out) == (2, "")
    assert ran.err.startswith("command: ")
    assert "; allowed: " in ran.err


@pytest.mark.parametrize("name", sorted(COMMANDS))
def test_each_command_explains_itself(run: Run, name: str) -> None:
    ran = run(name, "--help")
    assert (ran.status, ran.err) == (0, "")
    assert f"collum {name}" in ran.out


def test_ctrl_c_ends_with_130(run: Run, case_file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def stopped(*_arguments: object, **_named: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("collum.app.plans.planning.Planner.plan", stopped)
    ran = run("plan", case_file)
    assert (ran.status, ran.out) == (130, "")
    assert "Traceback" not in ran.err


def test_every_command_and_option_is_in_the_guide() -> None:
    guide = (Path(__file__).parents[2] / "docs" / "guide" / "command-line.md").read_text(encoding="utf-8")
    for command in command_line().registered_commands:
        assert f"collum {command.name}" in guide
    from typer.main import get_command

    for command in get_command(command_line()).commands.values():  # type: ignore[attr-defined]  # a group of commands
        for option in command.params:
            for spelling in option.opts:
                if spelling.startswith("--") and spelling != "--help":
                    assert f"`{spelling}" in guide, f"{command.name} {spelling}"


def test_two_stored_plans_are_compared(run: Run, tmp_path: Path, document: dict[str, Any]) -> None:
    with open_practice(FixedEnvironment(data_directory=tmp_path / "data"), draws=300) as practice:
        case_id = practice.create(document).case_id
        first = practice.store_plan(case_id, revision=1)
        document["teeth"][0]["sites"]["sound_height"]["L"] = -4.0
        document["teeth"][0]["held"] = {"cut": {"DL": -1.0}}
        document["teeth"][0]["restoration"]["visible_zone"] = True
        document["teeth"][0]["implant_beside"] = False
        practice.save(case_id, base_revision=1, document=document)
        second = practice.store_plan(case_id, revision=2)
    told = run("compare", first.id, second.id)
    assert (told.status, told.err) == (0, "")
    lines = told.out.splitlines()
    assert lines[0] == f"Tooth 45, Soft tissue only: {first.verdicts[0]}, then short."
    assert "  sound tooth, height, at L: 3.5, then -4.0" in lines
    assert "  cut fixed by hand, mm from the margin, at DL: none, then -1.0" in lines
    assert "  restoration wanted, visible zone: false, then true" in lines
    assert "  implant next to it: none, then false" in lines
    assert any(line.startswith("  ferrule: ") for line in lines) and "sound_height" not in told.out
    assert json.loads(run("compare", first.id, second.id, "--json").out)["verdict"]["after"] == "short"
    same = run("compare", first.id, first.id).out.splitlines()
    assert same == [
        f"Tooth 45, Soft tissue only: {first.verdicts[0]} both times.",
        "Nothing changed between the two plans.",
    ]
    unknown = run("compare", first.id, "none")
    assert (unknown.status, unknown.out) == (2, "")
    assert unknown.err == "PLAN: is the id of no stored plan; allowed: an id of this practice\n"
    assert run("compare", first.id, second.id, "--tooth", 11).err.startswith("PLAN: has no tooth in common")


def test_open_says_which_directory_it_looked_at_and_how_to_name_another(run: Run, tmp_path: Path) -> None:
    for options, folder in (((), tmp_path / "data"), (("--data", tmp_path / "mine"), tmp_path / "mine")):
        ran = run("open", *options)
        assert (ran.status, ran.out) == (4, "")
        assert str(folder) in ran.err and "--data" in ran.err and "serve" in ran.err


@pytest.mark.parametrize(
    ("started", "found", "typed"),
    [
        ("/here/.venv/bin/collum", None, "/here/.venv/bin/collum open"),
        ("/here/.venv/bin/collum", "/usr/bin/collum", "collum open"),
        ("-c", None, "collum open"),
        ("/a folder/collum", None, "'/a folder/collum' open"),
    ],
)
def test_a_command_is_told_as_it_can_be_typed(
    monkeypatch: pytest.MonkeyPatch, started: str, found: str | None, typed: str
) -> None:
    monkeypatch.setattr("sys.argv", [started])
    monkeypatch.setattr("shutil.which", lambda _name: found)
    assert own_command("open") == typed
