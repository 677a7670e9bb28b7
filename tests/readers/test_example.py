"""The example of a scan is what the made preparation gives: `python -m tests.readers.test_example` writes it anew."""

from pathlib import Path

from collum.app.plans.preparation import judge_bytes
from collum.core.preparation.made import PreparationDesign, preparation_mesh
from collum.plan.preparation import Wanted
from tests.making.mesh_files import binary_stl

EXAMPLE = Path(__file__).parents[2] / "examples" / "invented-preparation.stl"
DESIGN = PreparationDesign(
    facial_oral_mm=8.4,
    mesiodistal_mm=6.4,
    height_mm=4.2,
    convergence_facial_oral_deg=14,
    convergence_mesiodistal_deg=18,
    proximal_rise_mm=0.6,
)


def made() -> bytes:
    mesh = preparation_mesh(DESIGN, around=72, levels=10)
    return binary_stl(mesh.vertices_mm, mesh.faces, head=b"invented, made from numbers, no patient")


def test_the_example_is_judged_as_it_was_made() -> None:
    kept = EXAMPLE.read_bytes()
    assert kept[:80] == made()[:80] and len(kept) == len(made())
    found = judge_bytes(kept, Wanted(facial=(1, 0, 0), tooth=45))
    assert found.verdict == "kept"
    assert abs(found.convergence_deg[0] - 14) < 0.1 and abs(found.convergence_deg[9] - 18) < 0.1  # type: ignore[operator]  # known there


if __name__ == "__main__":
    EXAMPLE.write_bytes(made())
