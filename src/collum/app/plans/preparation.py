"""Use case: a mesh file of a preparation in, what it measures and whether it will hold out.

The file may come from anyone. It is read and judged in a process of its own (`preparation_worker`), with limits of memory and
time, which once it runs can open no file and no connection.
"""

import json
import math
import os
import subprocess
import sys
from collections.abc import Mapping
from dataclasses import asdict
from time import monotonic
from typing import IO

import collum
from collum.app.plans.planning import PlannedCase
from collum.app.plans.restoration import restorations_of_plan
from collum.app.speaking import printable, words
from collum.case import Case
from collum.core.tooth import is_permanent
from collum.plan.preparation import PreparationRefused, Wanted, judge_preparation
from collum.readers import MeshFault, Point, read_mesh, read_points
from collum.wire.preparation.comparison import compared
from collum.wire.preparation.document import MeshFileDocument, PreparationDocument, TookDocument
from collum.wire.preparation.to_document import preparation_document
from collum.wording import filled, keys, names_in_force

MOST_SECONDS = 60  # of processor time; where a platform has no such limit, of the clock
MOST_CLOCK_SECONDS = 300  # a machine that gives the processor time no sooner is too busy
MOST_MEGABYTES = 2_000
_PROCESSOR_TIME_USED, _KILLED = -24, -9  # by signal
ANSWER = b'{"answer":'  # what the worker writes before an answer
_WORKER = "collum.app.plans.preparation_worker"

Fault = dict[str, str | None]  # where, what, allowed, value, page


class ScanRefused(Exception):
    """The file cannot be judged; `fault` in the one shape."""

    def __init__(self, fault: Fault) -> None:
        self.fault = fault
        super().__init__(fault["where"])


def judge_file(file: IO[bytes], wanted: Wanted) -> PreparationDocument:
    """Return the answer on a file open for reading, judged in a process with limits. Raises ScanRefused."""
    environment = {**os.environ, "OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"}
    command = [sys.executable, "-P", "-m", _WORKER, json.dumps(asdict(wanted)), json.dumps(asdict(names_in_force()))]
    try:
        clock = MOST_SECONDS if sys.platform == "win32" else MOST_CLOCK_SECONDS
        ran = subprocess.run(command, stdin=file, capture_output=True, timeout=clock, env=environment, check=False)
    except subprocess.TimeoutExpired:
        raise ScanRefused(scan_fault("busy", "file", {"clock_seconds": clock})) from None
    if ran.returncode == _PROCESSOR_TIME_USED:
        raise ScanRefused(scan_fault("time", "file", {"seconds": MOST_SECONDS}))
    if ran.returncode == _KILLED:
        raise ScanRefused(scan_fault("killed", "file", {}))
    if ran.returncode != 0:
        raise RuntimeError(f"the reader of scans ended with {ran.returncode}")
    answer = json.loads(ran.stdout)
    if "fault" in answer:
        raise ScanRefused(answer["fault"])
    return PreparationDocument.model_validate_json(ran.stdout[len(ANSWER) : -1])


def judge_bytes(data: bytes, wanted: Wanted) -> PreparationDocument:
    """Return the answer on the bytes of a file, judged here. Raises ScanRefused."""
    begun = monotonic()
    try:
        mesh = read_mesh(data)
        read = monotonic()
        judged = judge_preparation(mesh.vertices, mesh.faces, wanted)
    except (MeshFault, PreparationRefused) as refused:
        raise ScanRefused(scan_fault(refused.key, refused.where, refused.parameters)) from None
    except MemoryError:
        raise ScanRefused(scan_fault("memory", "file", {"megabytes": MOST_MEGABYTES})) from None
    file = MeshFileDocument(
        format=mesh.format,
        bytes=len(data),
        facets=len(mesh.faces),
        vertices=len(mesh.vertices),
        unit=wanted.unit,
        extent_mm=[round(float(mm), 6) for mm in judged.extent_mm],
    )
    made = preparation_document(judged, file=file, cut=mesh.cut, program_version=collum.__version__, words=words)
    took = TookDocument(reading_s=round(read - begun, 3), judging_s=round(monotonic() - read, 3))
    return made.model_copy(update={"took": took})


def beside_plan(found: PreparationDocument, case: Case, made: PlannedCase) -> PreparationDocument:
    """Return the answer with what the plan took for granted beside it, as it is where the plan holds no tooth.

    The plan holds the tooth of the preparation alone.
    """
    planned = restorations_of_plan(case, made)
    return compared(found, planned.case_reference, planned.teeth[0], words) if planned.teeth else found


def direction(where: str, typed: str) -> Point:
    """Return three numbers parted by commas, not all 0. Raises ScanRefused."""
    try:
        (point,) = read_points(typed.encode())
    except ValueError:
        point = (0.0, 0.0, 0.0)
    if not (any(point) and all(map(math.isfinite, point))):
        raise ScanRefused({**scan_fault("vector", where, {}), "value": printable(typed[:60])})
    return point


def permanent_tooth(where: str, number: int) -> int:
    """Return the ISO number of a tooth of the second dentition. Raises ScanRefused."""
    if not is_permanent(number):
        raise ScanRefused({**scan_fault("tooth", where, {}), "value": str(number)})
    return number


def scan_fault(key: str, where: str, parameters: Mapping[str, float | int | str]) -> Fault:
    """Return a fault of a scan in the one shape, from the key of its sentences, with its words for the screen."""
    what, allowed = (filled(f"scan.fault.{half}.{key}", parameters) for half in ("what", "allowed"))
    own = f"scan.fault.page.{key}"
    page = filled(own, parameters) if own in keys() else f"{what}; {allowed}"
    return {"where": where, "what": what, "allowed": allowed, "value": None, "page": page}
