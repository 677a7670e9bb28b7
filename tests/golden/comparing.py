"""All golden answers, worked out by as many processes as there are cores, and what differs from those that are kept."""

import os
import platform
import sys
from collections.abc import Collection, Iterable, Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from importlib.metadata import version
from multiprocessing import get_context
from pathlib import Path

from tests.golden.answers import ANYWHERE, OF_CASE_FILES, OF_CONSTANTS, PARTS, answer_to_file, answers_of, constants
from tests.golden.fields import RELATIVE, Answer, difference
from tests.golden.store import Answers, frozen_cases, frozen_files

OF_MACHINE = "machine"
# Where another processor rounds the last places otherwise (decision 56). Facets of a stump count or not at a threshold, and
# places on a paper are kept to a hundredth of a point.
ELSEWHERE = {"restoration": 1e-4, "papers": 1e-4}
LAST_PLACES = ("section.shapes[]", "section words")  # texts written from such numbers, compared on the same machine alone
SAID_EVERY = 50
_COMPUTE = ("numpy", "scipy", "clarabel")


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """One field of one case that is not as it was."""

    part: str
    case: str
    field: str
    what: str

    def __str__(self) -> str:
        return f"{self.part} | {self.case} | {self.field}: {self.what}"


def machine() -> dict[str, Answer]:
    """Return what rounds the last places: processor, what numpy and its BLAS use of it, and the libraries that compute."""
    from numpy._core._multiarray_umath import __cpu_features__ as features

    used = " ".join(sorted(name for name, found in features.items() if found))
    named = {name: version(name) for name in _COMPUTE}
    return {"processor": _processor(), "used": used, "blas": os.environ.get("OPENBLAS_CORETYPE", "chosen"), **named}


def all_answers(parts: Collection[str] = PARTS) -> Answers:
    """Return every answer of every frozen case; say now and then how far it is."""
    cases, answers = frozen_cases(), beside_cases()
    # Spawned: a fork of a process that has typeset papers or run threads hangs.
    with ProcessPoolExecutor(max_workers=os.cpu_count(), mp_context=get_context("spawn")) as pool:
        found = pool.map(answers_of, cases, [parts] * len(cases))
        for number, (case, of_case) in enumerate(zip(cases, found, strict=True), start=1):
            for part, fields in of_case.items():
                answers.setdefault(part, {})[case.name] = fields
            if number % SAID_EVERY == 0:
                print(f"{number} of {len(cases)} cases", file=sys.stderr, flush=True)
    return answers


def beside_cases(every: int = 1) -> Answers:
    """Return what no case is needed for: the constants, the machine, and the answers to one in `every` case file."""
    return {
        OF_CONSTANTS: {ANYWHERE: constants()},
        OF_MACHINE: {ANYWHERE: machine()},
        OF_CASE_FILES: {name: answer_to_file(data, kind) for name, kind, data in frozen_files()[::every]},
    }


def differences(before: Answers, now: Answers) -> list[Difference]:
    """Return what differs, changed constants first. On the machine that made the kept answers nothing may."""
    same_machine = before.get(OF_MACHINE) == now.get(OF_MACHINE)
    parts = sorted((before.keys() | now.keys()) - {OF_MACHINE}, key=lambda part: (part != OF_CONSTANTS, part))
    found = [one for part in parts for one in _of_part(part, before, now, 0.0 if same_machine else _tolerance(part))]
    return [one for one in found if same_machine or one.field not in LAST_PLACES]


def within(answers: Answers, of: Answers) -> Answers:
    """Return of `answers` the parts and cases that are in `of`: what some were asked for."""
    return {
        part: {case: fields for case, fields in answers.get(part, {}).items() if case in cases} for part, cases in of.items()
    }


def table(found: Iterable[Difference]) -> Iterator[str]:
    """Yield what moved as a table for a commit: by part and field how many cases, and one of them."""
    grouped: dict[tuple[str, str], list[Difference]] = {}
    for one in found:
        grouped.setdefault((one.part, one.field), []).append(one)
    yield "| part | field | cases | for example |"
    yield "| --- | --- | --- | --- |"
    for (part, field), ones in grouped.items():
        yield f"| {part} | {field} | {len(ones)} | {ones[0].case}: {ones[0].what[:160]} |"


def _of_part(part: str, before: Answers, now: Answers, relative: float) -> Iterator[Difference]:
    old_cases, new_cases = before.get(part, {}), now.get(part, {})
    for case in sorted(old_cases.keys() | new_cases.keys()):
        old, new = old_cases.get(case, {}), new_cases.get(case, {})
        for field in sorted(old.keys() | new.keys()):
            what = difference(old.get(field), new.get(field), relative=relative)
            if what is not None:
                yield Difference(part=part, case=case, field=field, what=what)


def _tolerance(part: str) -> float:
    return ELSEWHERE.get(part.partition("-")[0], RELATIVE)


def _processor() -> str:
    info = Path("/proc/cpuinfo")
    lines = info.read_text(encoding="utf-8").splitlines() if info.exists() else []
    named = (line.split(":", 1)[1].strip() for line in lines if line.startswith("model name"))
    return next(named, platform.processor() or platform.machine())
