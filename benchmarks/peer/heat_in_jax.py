"""The heat problem as one writes it in JAX: explicit steps on equal cells in single precision, one compiled loop.

Coefficients are formed once; whole-array arithmetic; the loop over all steps is inside the compiled function.
"""

from functools import partial

import jax
import jax.numpy as jnp
import numpy as np
from jax import lax

from benchmarks import heat_problem as problem

Array = np.ndarray


class Block:
    """The block on equal cells of a step; `alone` leaves out bone, dentine and film."""

    def __init__(self, step_mm: float, *, alone: bool = False) -> None:
        x, y, z = problem.uniform_axes(step_mm)
        number = 0 * problem.tissue_number(x, y, z) if alone else problem.tissue_number(x, y, z)
        k, c, b = (np.array([t[i] for t in (problem.GUM, problem.BONE, problem.DENTINE)])[number] for i in range(3))
        pad = [(1, 1)] * 3
        faces = []
        for axis in range(3):
            wide = np.pad(1 / k, [pad[i] if i == axis else (0, 0) for i in range(3)])
            low, high = (np.take(wide, np.arange(a, wide.shape[axis] - 1 + a), axis=axis) for a in (0, 1))
            faces.append(2 / (low + high) / step_mm**2)
        film = 0.0 if alone else problem.FILM
        top = 0.0 * k[:, :, 0] if film == 0 else 1 / (step_mm / 2 / k[:, :, 0] + 1 / film) / step_mm
        faces[2][:, :, 0] = top
        self.faces = tuple(jnp.asarray(f, jnp.float32) for f in faces)
        self.per_capacity = jnp.asarray(1 / c, jnp.float32)
        self.perfusion = jnp.asarray(b, jnp.float32)
        self.limit_s = 0.9 * float((step_mm**2 * c / (6 * k)).min())
        self.step_mm = step_mm
        self.shape = k.shape

    def procedure(self, strokes: int, until_s: float) -> Array:
        """Return the rise at an instant of a number of strokes."""
        per_second = int(np.ceil(1 / self.limit_s))
        count = round(until_s * per_second)
        rise = _run(
            self.faces, self.per_capacity, self.perfusion, self.step_mm, 1 / per_second, count, strokes, shape=self.shape
        )
        return np.asarray(rise.block_until_ready())


@partial(jax.jit, static_argnames=("shape",))
def _run(
    faces: tuple[jax.Array, ...],
    per_capacity: jax.Array,
    perfusion: jax.Array,
    step_mm: float,
    step_s: float,
    count: int,
    strokes: int,
    *,
    shape: tuple[int, int, int],
) -> jax.Array:
    beside = problem.SIDE_MM / step_mm - 0.5
    row = jnp.floor(beside + 1e-3).astype(int)
    shares = jnp.stack([1 - (beside - row), beside - row])
    depth = (jnp.arange(shape[2]) + 1) * step_mm <= problem.DEPTH_MM + 1e-3
    column = depth / depth.sum() * problem.HEAT_MJ_S / step_mm**3

    def one(step: jax.Array, rise: jax.Array) -> jax.Array:
        change = -perfusion * rise
        for axis, face in enumerate(faces):
            pad = [(1, 1) if i == axis else (0, 0) for i in range(3)]
            flow = face * jnp.diff(jnp.pad(rise, pad), axis=axis)
            change = change + jnp.diff(flow, axis=axis)
        time = (step + 0.5) * step_s
        since = time % problem.CYCLE_S
        on = (since < problem.STROKE_S) & (time < strokes * problem.CYCLE_S)
        at = problem.FROM_MM + (problem.TO_MM - problem.FROM_MM) * since / problem.STROKE_S
        place = at / step_mm - 0.5
        cell = jnp.floor(place).astype(int)
        ahead = place - cell
        for j, across in ((0, shares[0]), (1, shares[1])):
            for i, along in ((0, 1 - ahead), (1, ahead)):
                change = change.at[cell + i, row + j, :].add(jnp.where(on, along * across, 0) * column)
        return rise + step_s * per_capacity * change

    return lax.fori_loop(0, count, one, jnp.zeros(shape, jnp.float32))
