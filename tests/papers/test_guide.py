"""The commands in the guide to the papers run as they stand there."""

import re
from pathlib import Path

import pytest

from collum.cli.main import main
from collum.papers import PAPER_KINDS
from tests.papers.pages import pages

ROOT = Path(__file__).parents[2]
GUIDE = (ROOT / "docs/guide/papers.md").read_text(encoding="utf-8")


def test_the_commands_of_the_guide_make_papers(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    commands = re.findall(r"^collum (report .+)$", GUIDE, flags=re.MULTILINE)
    assert len(commands) == 2
    monkeypatch.chdir(ROOT)
    for command in commands:
        words = [str(tmp_path / word) if word.endswith(".pdf") else word for word in command.split()]
        assert main([*words, "--draws", "200"]) == 0
    assert len(pages((tmp_path / "plan.pdf").read_bytes())) >= 3
    assert len(pages((tmp_path / "findings.pdf").read_bytes())) == 2


def test_every_paper_has_its_row_in_the_guide() -> None:
    assert set(re.findall(r"^\| `([a-z-]+)` \|", GUIDE, flags=re.MULTILINE)) == set(PAPER_KINDS)
