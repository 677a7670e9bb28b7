"""The command line is there at once and its page is true: nothing heavy is imported for help, every command is explained."""

import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
import typer.main

from collum.app.settings import NAMES
from collum.cli.main import command_line
from tests.contracts.tracked import ROOT, tracked_files

HEAVY = ("cryptography", "numpy", "scipy", "pydantic", "sqlalchemy", "fastapi", "uvicorn", "typst", "clarabel")
LOADED = f"sys.exit(' '.join(name for name in {HEAVY!r} if name in sys.modules) or 0)"
PAGE = ROOT / "docs/guide/command-line.md"
# A command in a page: `collum plan ...` inline, or a line of a block.
NAMED = re.compile(r"(?:^|[`$>(]|\s)collum ([a-z][a-z-]*)\b(?! is| and| does| has)", re.MULTILINE)


def test_help_imports_nothing_heavy() -> None:
    asked = f"import sys\nfrom collum.cli.main import main\nmain(['--help'])\n{LOADED}"
    answer = subprocess.run([sys.executable, "-c", asked], capture_output=True, text=True, check=False)
    assert (answer.returncode, answer.stderr) == (0, "")


def test_the_search_for_heavy_imports_finds_one() -> None:
    asked = f"import sys, numpy\n{LOADED}"
    answer = subprocess.run([sys.executable, "-c", asked], capture_output=True, text=True, check=False)
    assert answer.returncode == 1 and "numpy" in answer.stderr


def test_every_command_option_and_setting_is_explained() -> None:
    text = PAGE.read_text(encoding="utf-8")
    assert [name for name in _commands() if f"`collum {name}" not in text] == []
    options = {option for options in _commands().values() for option in options}
    assert sorted(option for option in options if f"`{option}" not in text) == []
    assert [name for name in NAMES if f"| {name} | `COLLUM_{name.upper()}` |" not in text] == []


@pytest.mark.parametrize("page", [path for path in tracked_files() if path.suffix == ".md"], ids=lambda path: path.name)
def test_every_command_a_page_names_exists(page: Path) -> None:
    text = page.read_text(encoding="utf-8")
    code = "\n".join(re.findall(r"```.*?```|`[^`\n]+`|^## .*$", text, flags=re.DOTALL | re.MULTILINE))
    assert sorted({name for name in NAMED.findall(code) if name not in _commands()}) == []


def _commands() -> dict[str, list[str]]:
    """Return the options of every command; one of a group is named with its group, and the group alone as well."""
    return dict(_of_group(typer.main.get_command(command_line()), ""))


def _of_group(group: object, before: str) -> Iterator[tuple[str, list[str]]]:
    for name, command in group.commands.items():  # type: ignore[attr-defined]
        found = [option for parameter in command.params for option in parameter.opts if option.startswith("--")]
        yield f"{before}{name}", [option for option in found if option != "--help"]
        if hasattr(command, "commands"):
            yield from _of_group(command, f"{before}{name} ")
