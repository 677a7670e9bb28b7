"""The built browser part is small, was made from today's sources, and knows no other host."""

import gzip
import re
import subprocess
import sys
from pathlib import Path

import pytest

from tests.contracts.tracked import ROOT
from tools import frontend_stamp, set_up

BUILT = ROOT / frontend_stamp.BUILT
LARGEST_FIRST_LOAD_BYTES = 90_000
MOST_REQUESTS = 12
ADDRESS = re.compile(r"(?:https?:)?//[a-z0-9-]+(?:\.[a-z0-9-]+)+", re.IGNORECASE)
# Names of XML vocabularies and the place of explanations inside error messages: never asked for.
NEVER_ASKED = ("http://www.w3.org", "https://svelte.dev")


def foreign_addresses(text: str) -> set[str]:
    """Return the addresses of other hosts that a built file holds."""
    return {found for found in ADDRESS.findall(text) if found not in NEVER_ASKED}


def test_it_was_made_from_the_sources_of_this_tree() -> None:
    assert frontend_stamp.is_current(ROOT)


@pytest.mark.slow
def test_building_again_gives_the_same_bytes(tmp_path: Path) -> None:
    environment = set_up.Environment(Path(sys.prefix))
    vite = ROOT / frontend_stamp.SOURCES / "node_modules/vite/bin/vite.js"
    command = [environment.node().program, vite, "build", "--outDir", tmp_path / "again", "--logLevel", "error"]
    folder = ROOT / frontend_stamp.SOURCES
    answer = subprocess.run(command, cwd=folder, env=environment.variables(), capture_output=True, text=True, check=False)
    assert answer.returncode == 0, answer.stdout + answer.stderr
    assert _contents(tmp_path / "again") == _contents(BUILT)


def test_the_first_load_is_small() -> None:
    files = _first_load()
    assert len(files) + 1 <= MOST_REQUESTS
    assert sum(len(gzip.compress(path.read_bytes())) for path in files) <= LARGEST_FIRST_LOAD_BYTES


def test_it_names_no_other_host() -> None:
    texts = [path for path in BUILT.rglob("*") if path.suffix in (".html", ".js", ".css", ".svg")]
    assert texts
    found = {path.name: foreign_addresses(path.read_text(encoding="utf-8")) for path in texts}
    assert {name: addresses for name, addresses in found.items() if addresses} == {}


@pytest.mark.parametrize("text", ["fetch('https://fonts.example.com/x')", "@import url(//cdn.example.org/a.css)"])
def test_the_search_for_other_hosts_finds_one(text: str) -> None:
    assert foreign_addresses(text)


def test_nothing_is_shipped_that_only_development_needs() -> None:
    assert [path.name for path in BUILT.rglob("*") if path.suffix in (".map", ".ts", ".svelte")] == []


def _contents(folder: Path) -> dict[str, bytes]:
    files = [path for path in folder.rglob("*") if path.is_file() and path.name != frontend_stamp.STAMP]
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in files}


def _first_load() -> list[Path]:
    page = (BUILT / frontend_stamp.FIRST_PAGE).read_text(encoding="utf-8")
    asked = re.findall(r"(?:src|href)=\"\.?/?([^\"]+\.(?:js|css))\"", page)
    assert asked
    return [BUILT / name for name in asked]
