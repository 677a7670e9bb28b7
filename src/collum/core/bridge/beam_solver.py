"""Motions of a grid of beams on supports, exact where supports are far softer than the beam.

A beam on soft springs moves almost as a rigid body, and what it bends is many orders smaller. So motions are split into the
three rigid ones, which cost the beam nothing, and the rest: the springs alone decide the rigid ones, and neither is lost in the
rounding of the other. With a rigid support there is no such split to make.

Three numbers a place: deflection and its two slopes.
"""

import numpy as np
from numpy.typing import NDArray

from collum.core.ring import Floats

_RIGID = 3


class NotHeld(ValueError):
    """The supports let the beam go in a way the load drives it."""

    def __init__(self) -> None:
        super().__init__("the span is not held: it needs two supports, or one that resists tipping")


def motions(stiffness: Floats, springs: Floats, places: Floats, force: Floats) -> tuple[Floats, Floats]:
    """Return (3n,) motions, and their part that bends the beam; `springs` (3n,) may be inf. Raises NotHeld.

    What nothing holds and nothing drives (a straight span turning about its own line) stays at rest.
    """
    held = np.isinf(springs)
    if held.any():
        moved = _held(stiffness + np.diag(np.where(held, 0, springs)), force, held)
        return moved, moved
    return _sprung(stiffness, springs, places, force)


def _held(stiffness: Floats, force: Floats, held: NDArray[np.bool_]) -> Floats:
    free = ~held
    matrix = stiffness[np.ix_(free, free)]
    scale = 1 / np.sqrt(np.maximum(np.diag(matrix), np.finfo(float).tiny))
    moved = np.zeros(len(force))
    moved[free] = scale * _least(matrix * np.outer(scale, scale), scale * force[free])
    return moved


def _sprung(stiffness: Floats, springs: Floats, places: Floats, force: Floats) -> tuple[Floats, Floats]:
    """Return the motions by condensing all that bends onto the three rigid motions."""
    middle = places - places.mean(axis=0)
    length = float(np.abs(middle).max())
    unit = np.tile([1, 1 / length, 1 / length], len(places))  # slopes times length are lengths too
    rigid, bending = np.split(np.linalg.qr(_rigid_motions(middle / length), mode="complete")[0], [_RIGID], axis=1)
    stiff, soft, driving = stiffness * np.outer(unit, unit), springs * unit**2, force * unit
    bends = bending.T @ (stiff @ bending + soft[:, None] * bending)
    across = bending.T @ (soft[:, None] * rigid)
    answer = np.linalg.solve(bends, np.column_stack([across, bending.T @ driving]))
    whole = rigid.T @ (soft[:, None] * rigid) - across.T @ answer[:, :_RIGID]
    turned = _least(whole, rigid.T @ driving - across.T @ answer[:, _RIGID])
    bent = unit * (bending @ (answer[:, _RIGID] - answer[:, :_RIGID] @ turned))
    return unit * (rigid @ turned) + bent, bent


def _rigid_motions(places: Floats) -> Floats:
    """Return (3n, 3) the motions without bending: down, and tilted about each axis."""
    motion = np.zeros((len(places), 3, _RIGID))
    motion[:, 0] = np.column_stack([np.ones(len(places)), places])
    motion[:, 1, 1] = motion[:, 2, 2] = 1
    return motion.reshape(-1, _RIGID)


def _least(matrix: Floats, driving: Floats) -> Floats:
    """Return the least motion that answers the load. Raises NotHeld where none does."""
    found = np.linalg.lstsq(matrix, driving, rcond=len(matrix) * np.finfo(float).eps)[0]
    left = np.abs(matrix @ found - driving)
    if left.size and left.max() > np.sqrt(np.finfo(float).eps) * np.abs(driving).max():
        raise NotHeld
    return np.asarray(found)
