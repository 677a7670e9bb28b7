"""Running commands in this process, with a data directory and settings of their own."""

import io
import json
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from collum.case import to_document
from collum.cli import ending
from collum.cli.main import main
from tests.making.teeth import case_of, overgrown_premolar


@dataclass(frozen=True)
class Ran:
    status: int
    out: str
    err: str


Run = Callable[..., Ran]


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Run:
    monkeypatch.setenv("COLLUM_DATA", str(tmp_path / "data"))
    monkeypatch.setenv("COLLUM_DRAWS", "300")
    monkeypatch.setattr("collum.app.environment.default_data_directory", lambda: tmp_path / "usual")
    monkeypatch.setattr("collum.app.settings.default_data_directory", lambda: tmp_path / "usual")

    def go(*arguments: object, stdin: bytes = b"") -> Ran:
        monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(stdin)))
        ending.print_faults_as("text")
        status = main([str(argument) for argument in arguments])
        captured = capsys.readouterr()
        return Ran(status, captured.out, captured.err)

    return go


@pytest.fixture
def document() -> dict[str, Any]:
    return to_document(case_of(overgrown_premolar()))


@pytest.fixture
def case_file(tmp_path: Path, document: dict[str, Any]) -> Path:
    file = tmp_path / "case.json"
    file.write_text(json.dumps(document), encoding="utf-8")
    return file
