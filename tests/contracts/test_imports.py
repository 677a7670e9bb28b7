"""The direction of dependencies is held by a machine: the tree passes, and a planted violation of each contract is refused."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.contracts.tracked import ROOT

# A line added to a module, and the contract that must refuse it.
PLANTED = [
    ("src/collum/core/ring.py", "import collum.web", "Dependencies point down"),
    ("src/collum/records/__init__.py", "import collum.papers", "Dependencies point down"),
    ("src/collum/core/ring.py", "import sqlite3", "The pure parts touch no file"),
    ("src/collum/plan/__init__.py", "import time", "The pure parts touch no file"),
    ("src/collum/evidence/registry.py", "import numpy", "Evidence stands on nothing"),
    ("src/collum/plan/sentence.py", "import collum.wire", "Dependencies point down"),
    ("src/collum/core/ring.py", "import collum.wire.form", "What computes knows no document"),
    ("src/collum/case/model.py", "import pydantic", "What computes knows no document"),
    ("src/collum/plan/restoration/basis.py", "import pydantic", "What computes knows no document"),
    ("src/collum/papers/head.py", "import pydantic", "Shapes are made in wire"),
    ("src/collum/case/facts.py", "import collum.case.shapes", "The typed case knows neither"),
    ("src/collum/plan/sentence.py", "import collum.wording", "The clinical parts hold keys of sentences"),
    ("src/collum/core/neck/__init__.py", "import collum.core.healing", "Topics of the core meet only in the plan"),
    ("src/collum/app/__init__.py", "import sqlalchemy", "Only the records speak SQL"),
    ("src/collum/app/__init__.py", "import fastapi", "Only the web door speaks HTTP"),
    ("tests/making/__init__.py", "import collum.core.neck", "Makers of test data"),
]

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def copy(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A copy of what the contracts look at."""
    folder = tmp_path_factory.mktemp("tree")
    without = shutil.ignore_patterns("__pycache__", "static", "*.toml")
    shutil.copytree(ROOT / "src", folder / "src", ignore=without)
    shutil.copytree(ROOT / "tests/making", folder / "tests/making", ignore=without)
    shutil.copy(ROOT / "tests/__init__.py", folder / "tests")
    shutil.copy(ROOT / "pyproject.toml", folder)
    return folder


def test_the_tree_as_it_stands_keeps_every_contract(copy: Path) -> None:
    code, report = check(copy)
    assert code == 0, report


@pytest.mark.parametrize(("module", "line", "contract"), PLANTED)
def test_a_planted_violation_is_refused(copy: Path, module: str, line: str, contract: str) -> None:
    path = copy / module
    before = path.read_text(encoding="utf-8")
    path.write_text(f"{before}\n{line}\n", encoding="utf-8")
    try:
        code, report = check(copy)
    finally:
        path.write_text(before, encoding="utf-8")
    assert code != 0
    assert any(row.startswith(contract) and "BROKEN" in row for row in report.splitlines()), report


def check(folder: Path) -> tuple[int, str]:
    """Run the contracts on a tree; return exit code and report."""
    program = Path(sys.executable).with_name("lint-imports")
    variables = {**os.environ, "PYTHONPATH": os.pathsep.join([str(folder / "src"), str(folder)]), "COLUMNS": "200"}
    answer = subprocess.run([program, "--no-cache"], cwd=folder, env=variables, capture_output=True, text=True, check=False)
    return answer.returncode, answer.stdout + answer.stderr
