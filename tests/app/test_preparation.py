"""A mesh file in, the answer out: the same from every format, and one clear fault from every surface that is none."""

import io
import json
import subprocess
import sys
import tempfile
from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import pytest

from collum.app.plans import preparation as use_case
from collum.app.plans.planning import Planner
from collum.app.plans.preparation import ScanRefused, beside_plan, judge_bytes, judge_file
from collum.core.preparation.made import PreparationDesign, preparation_mesh
from collum.plan.preparation import Wanted
from collum.wire.preparation.document import PreparationDocument
from tests.making.mesh_files import FORMATS, Faces, Vertices, binary_stl, obj, tetrahedron
from tests.making.teeth import case_of, overgrown_premolar

DESIGN = PreparationDesign(
    facial_oral_mm=9,
    mesiodistal_mm=7,
    height_mm=4.5,
    convergence_facial_oral_deg=12,
    convergence_mesiodistal_deg=16,
    tilt_deg=4,
    tilt_towards_deg=60,
    proximal_rise_mm=0.4,
)
MESH = preparation_mesh(DESIGN, around=72, levels=8)
V, F = MESH.vertices_mm, MESH.faces
TOLD = Wanted(facial=(1, 0, 0), tooth=45)
SINGLE_MM = 1e-5  # a binary STL holds 24 bits: half a millionth of 9 mm, and what the sections make of it


def judged(data: bytes, wanted: Wanted = TOLD) -> PreparationDocument:
    return judge_bytes(data, wanted)


def figures(found: PreparationDocument) -> dict[str, Any]:
    """Return what has to agree: everything but what was read, how long it took, and what was put right."""
    return found.model_dump(exclude={"file", "took", "repairs", "frame", "assumed", "drawn", "constants"})


def assert_same(found: PreparationDocument, other: PreparationDocument, within: float = SINGLE_MM) -> None:
    assert found.verdict == other.verdict
    for name in ("height_mm", "convergence_deg", "width_mm", "resisting_share", "resisting_mm2"):
        # an area of 90 mm2 or an angle over a wall of 4 mm carries the error of a coordinate some dozen times
        assert getattr(found, name) == pytest.approx(getattr(other, name), abs=300 * within), name
    for name in ("wall_mm2", "top_mm2", "volume_mm3", "height_mean_mm", "weakest_share"):
        assert getattr(found, name) == pytest.approx(getattr(other, name), abs=300 * within), name


@cache
def plain() -> PreparationDocument:
    """The answer to the surface as it is."""
    return judge_bytes(FORMATS["OBJ"](V, F), TOLD)


@pytest.mark.parametrize("name", FORMATS)
def test_every_format_gives_the_same_answer(name: str) -> None:
    found = judged(FORMATS[name](V, F))
    assert_same(found, plain())
    if name not in ("STL, binary",):
        assert found.resisting_mm2 == pytest.approx(plain().resisting_mm2, rel=1e-6)
    assert {repair.kind for repair in found.repairs} == ({"welded"} if name.startswith("STL") else set())


def test_the_answer_is_what_the_preparation_was_made_with() -> None:
    """By the design: convergence 12 and 16 degrees; height 4.5 less the line, which rises 0.4 between the teeth."""
    assert plain().convergence_deg[0] == pytest.approx(12, abs=0.05) and plain().convergence_deg[9] == pytest.approx(
        16, abs=0.05
    )
    assert plain().height_mean_mm == pytest.approx(4.5 - 0.2, abs=0.03)
    assert plain().file.facets == len(F) and plain().undercut.area_mm2 == 0
    assert plain().wall_mm2 == pytest.approx(MESH.wall_area_mm2(), rel=1e-4)
    assert plain().verdict == "kept" and {part.verdict for part in plain().parts} == {"kept"}
    assert plain().took is not None and plain().took.judging_s > 0


def test_turned_and_moved_it_answers_the_same() -> None:
    turn = np.linalg.qr(np.random.default_rng(1).normal(size=(3, 3)))[0]
    turn *= np.sign(np.linalg.det(turn))
    facial = tuple(map(float, turn @ [1, 0, 0]))
    found = judged(obj(V @ turn.T + [12, -30, 5], F), replace(TOLD, facial=facial))  # type: ignore[arg-type]
    assert_same(found, plain())


def test_in_another_unit_it_answers_the_same() -> None:
    for unit, per_mm in (("um", 1000), ("cm", 0.1), ("in", 1 / 25.4)):
        assert_same(judged(obj(V * per_mm, F), replace(TOLD, unit=unit)), plain())  # type: ignore[arg-type]


def test_the_tooth_of_the_other_side_answers_the_same() -> None:
    """Mirrored it is 35: facial is kept, mesial lies on the other hand. The facets then look inward and are turned."""
    found = judged(obj(V * [1, -1, 1], F), replace(TOLD, tooth=35))
    assert_same(found, plain())
    assert [(repair.kind, repair.count) for repair in found.repairs] == [("turned", len(F))]


def test_cut_into_other_triangles_it_answers_the_same() -> None:
    middle = V[F].mean(axis=1)
    index = len(V) + np.arange(len(F))
    finer = np.concatenate([np.column_stack([F[:, i], F[:, (i + 1) % 3], index]) for i in range(3)])
    assert_same(judged(obj(np.concatenate([V, middle]), finer)), plain())


def test_a_line_drawn_on_a_closed_model_gives_the_preparation() -> None:
    """A skirt and a bottom below the finish line; the line itself is drawn with the path."""
    vertices, faces = closed_model()
    line = tuple(tuple(map(float, point)) for point in MESH.finish_line_mm)
    wanted = replace(TOLD, path=(0, 0, 1), finish_line=line)  # type: ignore[arg-type]
    found = judged(obj(vertices, faces), wanted)
    assert_same(found, judged(obj(V, F), replace(TOLD, path=(0, 0, 1))))
    assert [repair.kind for repair in found.repairs] == ["trimmed"]


def closed_model() -> tuple[Vertices, Faces]:
    line = MESH.finish_line
    low = len(V) + np.arange(len(line))
    bottom = len(V) + len(line)
    onward = np.roll(line, -1)
    skirt = [np.column_stack([line, low, np.roll(low, -1)]), np.column_stack([line, np.roll(low, -1), onward])]
    lid = np.column_stack([np.roll(low, -1), low, np.full(len(low), bottom)])
    below = V[line] * [1, 1, 0] + [0, 0, -3]
    return np.concatenate([V, below, [[0, 0, -3]]]), np.concatenate([F, *skirt, lid])


def without(faces: Faces, facet: int) -> Faces:
    return np.delete(faces, facet, axis=0)


TWO = np.concatenate([V, V + [0, 0, 10]]), np.concatenate([F, F + len(V)])
THIRD = np.concatenate([V, [[9, 9, 9]]]), np.concatenate([F, [[F[300, 0], F[300, 1], len(V)]]])
BAD: dict[str, tuple[tuple[Vertices, Faces], Wanted, str, str]] = {
    "closed": (tetrahedron(), TOLD, "closed all round", "trimmed at the finish line"),
    "two shells": (TWO, TOLD, "in 2 pieces", "one piece"),
    "a hole": ((V, without(F, 300)), TOLD, "1 more open edge", "close the holes"),
    "an edge of three": (THIRD, TOLD, "1 edge belongs to three facets", "every edge has two facets"),
    "inches taken as mm": ((V / 25.4, F), TOLD, "measures 0.354 mm", "as cm / in (--unit)"),
    "micrometres taken as mm": ((V * 1000, F), TOLD, "measures 9000 mm", "as um (--unit)"),
    "a crumb in any unit": ((V * 1e-6, F), TOLD, "measures 9e-06 mm", "neither a whole arch nor a crumb"),
    "a path across": ((V, F), replace(TOLD, path=(1, 0, 0.1)), "runs across", "within 45"),
    "no path": ((V, F), replace(TOLD, path=(0, 0, 0)), "is no direction", "not all 0"),
    "facial along the path": ((V, F), replace(TOLD, path=(0, 0, 1), facial=(0, 0, 2)), "points along", "across the path"),
    "a line without a path": ((V, F), replace(TOLD, finish_line=((0, 0, 0),)), "needs the path", "--axis"),
    "a line of two points": (
        (V, F),
        replace(TOLD, path=(0, 0, 1), finish_line=((4, 0, 1), (-4, 0, 1))),
        "no closed line",
        "three points",
    ),
    "flat": ((V * [1, 1, 0], F), TOLD, "no two walls", "with walls"),
}


@pytest.mark.parametrize(("surface", "wanted", "what", "allowed"), BAD.values(), ids=BAD.keys())
def test_a_surface_that_is_no_preparation_is_refused_in_words(
    surface: tuple[Vertices, Faces], wanted: Wanted, what: str, allowed: str
) -> None:
    with pytest.raises(ScanRefused) as refused:
        judged(obj(*surface), wanted)
    fault = refused.value.fault
    assert what in str(fault["what"]) and allowed in str(fault["allowed"]), fault


def test_facets_inside_out_and_doubled_are_put_right_and_said() -> None:
    faces = F.copy()
    faces[3:200:9] = faces[3:200:9, ::-1]
    found = judged(obj(V, np.concatenate([faces, F[10:14], [[5, 5, 6]]])))
    assert_same(found, plain())
    said = {repair.kind: repair.said.text for repair in found.repairs}
    assert said["turned"].startswith(f"{len(range(3, 200, 9))} facets") and said["dropped"].startswith("5 facets")


def test_what_was_not_told_is_said_and_decides_nothing() -> None:
    found = judged(obj(V * [1, 1, 0.8], F), Wanted())
    height = next(part for part in found.parts if part.id == "preparation_height")
    assert height.verdict == "not assessed" and "on a molar" in height.said[0].text
    assert any("axis of the file" in sentence.text for sentence in found.assumed)
    assert {change.change for change in found.changes} == {"less_convergence", "more_height"}


def test_a_short_wide_preparation_is_short_and_says_what_would_make_it_hold() -> None:
    low = preparation_mesh(
        replace(DESIGN, height_mm=2.2, proximal_rise_mm=0, tilt_deg=0, convergence_facial_oral_deg=24), around=72, levels=6
    )
    found = judged(obj(low.vertices_mm, low.faces))
    assert found.verdict == "short" and found.remedy is not None and found.remedy.height_mm is not None
    # closed form in the section facial to oral: half of the wall resists from 9 sin 24 deg on
    assert found.remedy.height_mm == pytest.approx(9 * np.sin(np.deg2rad(24)) - 2.2, abs=0.02)
    assert found.weakest_deg in (0, 180)


def test_beside_the_plan_of_its_tooth() -> None:
    case = case_of(overgrown_premolar())
    found = beside_plan(plain(), case, Planner(300).planned(case))
    assert found.beside_plan is not None and found.beside_plan.case_reference == case.patient.reference
    assert found.model_copy(update={"beside_plan": None}) == plain()
    apart = round(found.beside_plan.planned_height_mm, 1) - round(plain().height_mean_mm, 1)
    assert f"{abs(apart):.1f} mm {'less' if apart > 0 else 'more'}" in found.beside_plan.said[0].text


@pytest.mark.slow
def test_the_process_with_limits_gives_the_same_answer_and_the_same_faults() -> None:
    with _file(obj(V, F)) as file:
        assert figures(judge_file(file, TOLD)) == figures(plain())
    with _file(b"no mesh") as file, pytest.raises(ScanRefused) as refused:
        judge_file(file, TOLD)
    assert refused.value.fault["what"] == "is none of the formats that are read"


@pytest.mark.slow
@pytest.mark.skipif(sys.platform == "win32", reason="the platform has no limits of a process")
def test_once_it_runs_the_process_opens_nothing_and_takes_no_more_memory_than_it_may() -> None:
    asked = """
import socket, sys
from collum.app.plans import preparation_worker as worker
worker.limit()
found = []
for work in (lambda: open("/etc/hostname"), lambda: open("x", "w"), socket.socket, lambda: bytearray(4_000_000_000)):
    try:
        work()
        found.append("done")
    except (OSError, MemoryError) as error:
        found.append(type(error).__name__)
sys.stdout.write(" ".join(found))
"""
    ran = subprocess.run([sys.executable, "-c", asked], capture_output=True, text=True, check=True)
    assert ran.stdout == "OSError OSError OSError MemoryError"


@pytest.mark.skipif(sys.platform == "win32", reason="the platform has no limits of a process")
@pytest.mark.parametrize(
    ("ended", "said"), [(-24, "of processor time"), (-9, "the machine stopped the program"), (None, "the machine was too busy")]
)
def test_what_ends_the_judging_is_told_apart(monkeypatch: pytest.MonkeyPatch, ended: int | None, said: str) -> None:
    """Its own processor time, the system, or a machine that gives it none."""

    def run(command: list[str], *, timeout: float, **_more: object) -> subprocess.CompletedProcess[bytes]:
        if ended is None:
            raise subprocess.TimeoutExpired(command, timeout)
        return subprocess.CompletedProcess(command, ended, b"", b"")

    monkeypatch.setattr(use_case.subprocess, "run", run)
    with _file(obj(V, F)) as file, pytest.raises(ScanRefused) as refused:
        judge_file(file, TOLD)
    assert said in str(refused.value.fault["what"])


@pytest.mark.slow
@pytest.mark.skipif(sys.platform == "win32", reason="the platform has no limits of a process")
def test_the_limit_is_the_processor_time_of_the_process_and_not_the_clock() -> None:
    """Asleep it may wait longer than its limit; at work it ends by the signal that says why."""
    asked = """
import sys, time
from collum.app.plans import preparation_worker as worker
worker.MOST_SECONDS = int(time.process_time() + 0.5) + 1  # at least half a second is left
worker.limit()
time.sleep(2.5)
print("slept", flush=True)
while True: pass
"""
    ran = subprocess.run([sys.executable, "-c", asked], capture_output=True, text=True, check=False)
    assert (ran.stdout, ran.returncode) == ("slept\n", use_case._PROCESSOR_TIME_USED)


def test_too_little_memory_is_a_fault_of_the_file(monkeypatch: pytest.MonkeyPatch) -> None:
    def full(_: bytes) -> None:
        raise MemoryError

    monkeypatch.setattr(use_case, "read_mesh", full)
    with pytest.raises(ScanRefused) as refused:
        judged(b"x")
    assert "more memory" in str(refused.value.fault["what"])


def test_the_answer_stands_as_json() -> None:
    assert PreparationDocument.model_validate_json(plain().model_dump_json()) == plain()
    assert json.loads(plain().model_dump_json())["format"] == "collum-preparation/2"
    keys = {constant.key for constant in plain().constants}
    assert {key for part in plain().parts for key in part.evidence} | {one.evidence for one in plain().retention} <= keys
    assert binary_stl(V, F)[:4] == b"made"


def _file(data: bytes) -> io.BufferedRandom:
    file = tempfile.TemporaryFile()  # noqa: SIM115  # closed by the caller's with
    file.write(data)
    file.seek(0)
    return file  # type: ignore[return-value]
