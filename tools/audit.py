"""Ask the public lists of known faults about everything the locks name, and write the dated answer to docs/audit.md.

Needs the network; run by `make audit` in the environment of upkeep. A package for which no answer came is never counted as one
without known faults: a registry that is a mirror often has no such list. `make test` checks only what is local.
"""

from __future__ import annotations

import json
import re
import subprocess
import sys
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from tools import set_up

ROOT = set_up.ROOT
PAGE = ROOT / "docs/audit.md"
LOCKS = ("run", "build", "test", "bench", "upkeep")
PINNED = re.compile(r"^([A-Za-z0-9._-]+)==([^ ;\\]+)", flags=re.MULTILINE)
Package = tuple[str, str]  # name and version


@dataclass(frozen=True, kw_only=True)
class Answer:
    """What came back for one lock: how many packages it names, for how many an answer came, and the faults of those."""

    packages: int
    answered: int
    faults: tuple[str, ...] = ()

    @property
    def clean(self) -> bool:
        """Say whether an answer came for every package and none has a known fault."""
        return self.answered == self.packages > 0 and not self.faults

    def told(self) -> str:
        """Return the answer as the page gives it."""
        if self.clean:
            return f"no faults known in {self.packages} packages"
        told = [f"**faults known**: {', '.join(self.faults)}"] if self.faults else []
        if silent := self.packages - self.answered:
            told.append(f"**no answer** for {silent} of {self.packages} packages")
        return "; ".join(told or ["**no answer**"])


def main() -> int:
    """Audit both worlds, write the page, and return 0 only when every answer came and named no fault."""
    answers = {**_python(), "frontend/package-lock.json": _browser_part()}
    today = datetime.now(tz=UTC).date().isoformat()  # noqa: TID251 - the date of the audit is its point
    PAGE.write_text(page(answers, today), encoding="utf-8")
    print(PAGE.read_text(encoding="utf-8"))
    return 0 if all(answer.clean for answer in answers.values()) else 1


def page(answers: Mapping[str, Answer], today: str) -> str:
    """Return the page that gives the answer for each lock."""
    head = [
        "# Known faults of what Collum depends on",
        "",
        f"Asked by `make audit` on {today}. Where no answer came, nothing is known:",
    ]
    head += ["the registry in use may hold no list of faults.", "", "| lock | answer |", "|---|---|"]
    return "\n".join([*head, *(f"| {name} | {answer.told()} |" for name, answer in answers.items())]) + "\n"


def python_answer(packages: set[Package], known: Mapping[Package, tuple[str, ...]]) -> Answer:
    """Return the answer for the packages of a lock, out of the faults known by package; one that is absent was not answered."""
    faults = sorted(
        f"{name} {version} ({', '.join(known[name, version])})" for name, version in packages if known.get((name, version))
    )
    return Answer(packages=len(packages), answered=len(packages & known.keys()), faults=tuple(faults))


def known_faults(said: str) -> dict[Package, tuple[str, ...]]:
    """Return the faults by package out of the JSON of pip-audit; what it skipped, or could not ask at all, is left out."""
    try:
        told = json.loads(said)["dependencies"]
    except (ValueError, KeyError, TypeError):
        return {}
    return {
        (entry["name"], entry["version"]): tuple(fault["id"] for fault in entry["vulns"]) for entry in told if "vulns" in entry
    }


def browser_answer(said: str, packages: int) -> Answer:
    """Return the answer for the browser part out of the JSON of `npm audit`."""
    try:
        found = json.loads(said)["vulnerabilities"]
    except (ValueError, KeyError, TypeError):
        return Answer(packages=packages, answered=0)
    faults = tuple(sorted(f"{name} ({entry['severity']})" for name, entry in found.items()))
    return Answer(packages=packages, answered=packages, faults=faults)


def _python() -> dict[str, Answer]:
    locked = {name: set(PINNED.findall((ROOT / f"requirements/{name}.lock").read_text(encoding="utf-8"))) for name in LOCKS}
    known: dict[Package, tuple[str, ...]] = {}
    for packages in _one_version_each(set().union(*locked.values())):
        known |= known_faults(_asked(packages))
    return {f"requirements/{name}.lock": python_answer(packages, known) for name, packages in locked.items()}


def _one_version_each(packages: set[Package]) -> list[dict[str, str]]:
    """Share packages out so that no name comes twice in one question; a lock may name two versions, for two Pythons."""
    questions: list[dict[str, str]] = []
    for name, version in sorted(packages):
        question = next((one for one in questions if name not in one), None)
        if question is None:
            questions.append(question := {})
        question[name] = version
    return questions


def _asked(packages: Mapping[str, str]) -> str:
    """Return what pip-audit says about packages, in JSON; without markers, so that other platforms are asked about too."""
    with tempfile.TemporaryDirectory() as folder:
        question = Path(folder) / "packages.txt"
        question.write_text("".join(f"{name}=={version}\n" for name, version in packages.items()), encoding="utf-8")
        command = [sys.executable, "-m", "pip_audit", "--no-deps", "--disable-pip", "--format", "json", "-r", str(question)]
        return _said(command, ROOT)


def _browser_part() -> Answer:
    node = set_up.Environment(ROOT / ".venv").node()
    lock = json.loads((ROOT / "frontend/package-lock.json").read_text(encoding="utf-8"))
    said = _said([str(node.program), str(node.npm), "audit", "--json"], ROOT / "frontend")
    return browser_answer(said, packages=len(lock["packages"]) - 1)  # the first entry is the browser part itself


def _said(command: list[str], folder: Path) -> str:
    try:
        answer = subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)
    except FileNotFoundError:  # the browser part has no Node before the first `make run`
        return ""
    print(answer.stderr, file=sys.stderr)
    return answer.stdout


if __name__ == "__main__":
    raise SystemExit(main())
