"""`collum scan preparation`: what it prints, in words and as JSON, and how it refuses."""

import json
from pathlib import Path

import pytest

from collum.core.preparation.made import PreparationDesign, preparation_mesh
from tests.cli.conftest import Run
from tests.making.mesh_files import binary_stl, obj

DESIGN = PreparationDesign(
    facial_oral_mm=9, mesiodistal_mm=7, height_mm=4.5, convergence_facial_oral_deg=12, convergence_mesiodistal_deg=16
)
MESH = preparation_mesh(DESIGN, around=48, levels=6)


@pytest.fixture
def scan(tmp_path: Path) -> Path:
    file = tmp_path / "prep.obj"
    file.write_bytes(obj(MESH.vertices_mm, MESH.faces))
    return file


@pytest.mark.slow
def test_in_words(run: Run, scan: Path) -> None:
    ran = run("scan", "preparation", scan, "--facial", "1,0,0", "--tooth", "20 universal")
    assert (ran.status, ran.err) == (0, "")
    for words in (
        "Preparation as scanned: OBJ, 624 facets",
        "has the shape that is asked for",
        "No wall is undercut",
        "4.5 · 4.5 mm",
        "mesially",
        "proximal grooves",
        "zinc phosphate",
        "from memory",
        "The file says no unit: mm was taken",
        "It promises nothing",
    ):
        assert words in ran.out.replace("\n", " "), words
    assert max(len(line) for line in ran.out.splitlines()) <= 100


@pytest.mark.slow
def test_as_json_from_the_standard_input_beside_a_case(run: Run, case_file: Path) -> None:
    data = binary_stl(MESH.vertices_mm, MESH.faces)
    ran = run("scan", "preparation", "-", "--case", case_file, "--tooth", "45", "--axis", "0,0,-1", "--json", stdin=data)
    found = json.loads(ran.out)
    assert (ran.status, found["format"], found["frame"]["tooth"]) == (0, "collum-preparation/2", 45)
    assert found["beside_plan"] is not None and found["frame"]["path_found"] is False
    assert {repair["kind"] for repair in found["repairs"]} == {"welded", "path_reversed"}


@pytest.mark.slow
def test_a_surface_that_is_refused_is_one_line(run: Run, scan: Path) -> None:
    ran = run("scan", "preparation", scan, "--unit", "cm")
    assert (ran.status, ran.out) == (2, "")
    assert ran.err.splitlines() == [
        "surface: measures 90 mm at most, read as cm; allowed: one preparation, 2 to 30 mm; as mm (--unit) it would be one"
    ]


@pytest.mark.parametrize(
    ("arguments", "where", "said"),
    [
        (["nowhere.stl"], "FILE", "cannot be read as a file"),
        (["x", "--axis", "0,0"], "--axis", "three numbers parted by commas"),
        (["x", "--axis", "0,0,0"], "--axis", "not all 0"),
        (["x", "--axis", "0,0,nan"], "--axis", "is no direction"),
        (["x", "--facial", "up"], "--facial", "is no direction (up)"),
        (["x", "--tooth", "99"], "--tooth", "is no tooth"),
        (["x", "--tooth", "40 universal"], "--tooth", "is no tooth"),
        (["x", "--case", "case.json"], "--tooth", "has to be given"),
        (["x", "--finish-line", "nowhere.txt"], "--finish-line", "cannot be read"),
        (["x", "--unit", "m"], "command", "m"),
        ([], "command", "FILE"),
    ],
)
def test_faulty_words_are_refused_before_anything_is_read(run: Run, arguments: list[str], where: str, said: str) -> None:
    ran = run("scan", "preparation", *arguments)
    assert (ran.status, ran.out) == (2, "")
    assert ran.err.startswith(where) and said in ran.err
    assert len(ran.err.splitlines()) == 1


def test_a_finish_line_with_a_faulty_row_is_refused(run: Run, scan: Path, tmp_path: Path) -> None:
    line = tmp_path / "line.txt"
    line.write_text("1 2 3\n4 5\n", encoding="utf-8")
    ran = run("scan", "preparation", scan, "--finish-line", line)
    assert ran.status == 2 and ran.err.startswith("--finish-line: line 2: is no row of three numbers")


def test_a_scan_command_that_is_not_there_is_refused(run: Run) -> None:
    assert run("scan").status == 2
    assert run("scan", "margin").status == 2
