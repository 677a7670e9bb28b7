"""What docs/adding.md adds to a copy of the source, and what the copy answers."""

import json
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tests.contracts.tracked import ROOT

PAGE = ROOT / "docs/adding.md"


@dataclass(frozen=True)
class Addition:
    """Lines that the page adds to a file: the text that is there once, and the text that takes its place.

    A file that is not there yet has no text before.
    """

    path: str
    before: str
    after: str


def additions(heading: str) -> list[Addition]:
    """Return what the blocks under a heading of the page add."""
    part = PAGE.read_text(encoding="utf-8").split(f"## {heading}\n")[1].split("\n## ")[0]
    found = []
    for path, lines in re.findall(r"```diff\n--- (\S+)\n(.*?)```", part, flags=re.DOTALL):
        kept = "".join(f"{line[1:]}\n" for line in lines.splitlines() if line.startswith(" "))
        found.append(Addition(path=path, before=kept, after="".join(f"{line[1:]}\n" for line in lines.splitlines())))
    return found


def answer_of_copy(folder: Path, added: Iterable[Addition], asked: str) -> Mapping[str, Any]:
    """Return what the code `asked` prints as JSON on a copy of the source with the additions."""
    shutil.copytree(ROOT / "src/collum", folder / "collum", ignore=shutil.ignore_patterns("static", "__pycache__"))
    for one in added:
        path = folder / one.path.removeprefix("src/")
        source = path.read_text(encoding="utf-8") if one.before else ""
        assert source.count(one.before) == 1, one
        path.write_text(source.replace(one.before, one.after, 1), encoding="utf-8")
    places = {**os.environ, "PYTHONPATH": os.pathsep.join((str(folder), str(ROOT))), "PYTHONDONTWRITEBYTECODE": "1"}
    ran = subprocess.run([sys.executable, "-c", asked], env=places, cwd=folder, capture_output=True, text=True, check=False)
    assert ran.returncode == 0, ran.stderr
    found: Mapping[str, Any] = json.loads(ran.stdout)
    return found
