"""The same problem by a general finite-element library: trilinear elements on the same boxes, one Crank-Nicolson step a time.

A block of gum over bone with a column of dentine in it, cooled by blood and by a film on top, its other sides held at rest; a
Gaussian ball of heat for a second, then a rest. Nothing is shared but the description: the library assembles its own matrices
and solves them whole.
"""

import numpy as np
import pytest
from scipy.sparse import diags_array
from scipy.sparse.linalg import cg
from skfem import Basis, BilinearForm, ElementHex1, FacetBasis, LinearForm, MeshHex, enforce
from skfem.helpers import dot, grad

from collum.core.heat.alternating import AlternatingRun
from collum.core.heat.body import FAR, Body, HeatEntering
from collum.core.heat.grid import Grid, even_edges
from collum.core.heat.tissues import Tissue

FILM, HEAT_MJ_S, SIGMA_MM = 0.05, 500.0, 0.9
CENTRE = (4.0, 4.0, 1.2)
PLACES = np.array([(4.2, 4.2, 1.0), (4.2, 4.2, 3.0), (5.0, 4.2, 1.8), (4.2, 5.8, 1.8), (3.0, 4.2, 0.6), (6.2, 4.2, 1.4)])
TISSUES = (
    Tissue(conductivity=0.5, capacity=3.78, perfusion=0.0224),
    Tissue(conductivity=0.4, capacity=2.48, perfusion=0),
    Tissue(conductivity=0.8, capacity=2.0, perfusion=0),
)
STEP_S, ON, OFF = 0.1, 10, 40


def number_at(x: np.ndarray, y: np.ndarray, z: np.ndarray) -> np.ndarray:
    """Tissue of a place: faces lie on planes of both grids."""
    column = (x > 5.6) & (x < 7.2) & (y > 2.4) & (y < 5.6)
    return np.where(column, 2, np.where(z > 2.4, 1, 0))


def ball(x: np.ndarray, y: np.ndarray, z: np.ndarray) -> np.ndarray:
    far = sum((axis - at) ** 2 for axis, at in zip((x, y, z), CENTRE, strict=True))
    return HEAT_MJ_S * np.exp(-far / (2 * SIGMA_MM**2)) / (2 * np.pi * SIGMA_MM**2) ** 1.5


def by_the_program(step_mm: float) -> np.ndarray:
    grid = Grid(x_mm=even_edges(0, 8, step_mm), y_mm=even_edges(0, 8, step_mm), z_mm=even_edges(0, 6.4, step_mm))
    number = np.broadcast_to(number_at(*grid.mesh_mm()), grid.shape)
    body = Body.of(grid, TISSUES, number, film=0, walls=((FAR, FAR), (FAR, FAR), (FILM, FAR)))
    energy = (ball(*grid.mesh_mm()) * grid.volume_mm3() * STEP_S).reshape(-1)
    source = HeatEntering(cell=np.arange(energy.size), energy_mJ=energy)
    run = AlternatingRun(body, np.float64)
    for i in range(ON + OFF):
        run.step(STEP_S, source if i < ON else None)
    return grid.shares(PLACES).sample(run.rise_degC())


def by_finite_elements(step_mm: float) -> np.ndarray:
    mesh = MeshHex.init_tensor(even_edges(0, 8, step_mm), even_edges(0, 8, step_mm), even_edges(0, 6.4, step_mm))
    basis = Basis(mesh, ElementHex1())

    def of(name: str, w: object) -> np.ndarray:
        return np.array([getattr(t, name) for t in TISSUES])[number_at(*w.x)]

    stiffness = BilinearForm(
        lambda u, v, w: of("conductivity", w) * dot(grad(u), grad(v)) + of("perfusion", w) * u * v
    ).assemble(basis)
    film = BilinearForm(lambda u, v, w: FILM * u * v).assemble(
        FacetBasis(mesh, ElementHex1(), facets=mesh.facets_satisfying(lambda x: x[2] == 0))
    )
    mass = BilinearForm(lambda u, v, w: of("capacity", w) * u * v).assemble(basis)
    load = LinearForm(lambda v, w: ball(*w.x) * v).assemble(basis)
    open_sides = mesh.facets_satisfying(lambda x: x[2] == 0)
    held = np.unique(mesh.facets[:, np.setdiff1d(mesh.boundary_facets(), open_sides)])
    forward = mass - STEP_S / 2 * (stiffness + film)
    backward = enforce(mass + STEP_S / 2 * (stiffness + film), D=held).tocsr()
    scaling = diags_array(1 / backward.diagonal())
    rise = np.zeros(basis.N)
    for i in range(ON + OFF):
        right = forward @ rise + (STEP_S * load if i < ON else 0)
        right[held] = 0
        rise, _ = cg(backward, right, x0=rise, rtol=1e-8, M=scaling)
    return basis.probes(PLACES.T) @ rise


@pytest.mark.slow
def test_finite_elements_give_the_same_rise_within_the_error_of_the_grid() -> None:
    program, coarse, fine = by_the_program(0.2), by_finite_elements(0.8), by_finite_elements(0.4)
    # Elements of 0.4 mm still miss 1.9 % at the ball and up to 1.5 % elsewhere; those of 0.8 / 3 mm, too slow to keep here,
    # were seen to miss 0.4 %: what is left is theirs and falls as the square of their step.
    assert program == pytest.approx(fine, rel=0.025)
    assert np.abs(program - fine).max() < 0.4 * np.abs(program - coarse).max()
