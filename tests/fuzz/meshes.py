"""A hunt with hostile meshes: each is refused with one fault, or judged, within ten seconds of processor time."""

import re
import struct
from time import process_time

import numpy as np

from collum.app.plans.preparation import ScanRefused, judge_bytes
from collum.core.preparation.made import PreparationDesign, preparation_mesh
from collum.plan.preparation import Wanted
from tests.fuzz.hostile import Chance, Hunt, mutated_bytes
from tests.making.mesh_files import FORMATS, Faces, Vertices, tetrahedron

LONGEST_S = 10.0
_NUMBERS = (0.0, -0.0, 1e-300, 1e-20, 1e20, 1e300, 3.4e38, float("inf"), float("-inf"), float("nan"), 2.0**53)
_WANTED = (
    Wanted(),
    Wanted(facial=(1, 0, 0), tooth=45),
    Wanted(facial=(0, 0, 1), tooth=36, unit="um"),
    Wanted(path=(0, 1e-30, 1), tooth=11),
)


def hunt_meshes(count: int, seed: int) -> Hunt:
    """Return what `count` hostile meshes came to."""
    hunt, random = Hunt(what="meshes", seed=seed), Chance(seed)
    sound = [sound_surface(), sound_surface(12, 2), tetrahedron()]
    for _ in range(count):
        vertices, faces = _bent(*random.choice(sound), random)
        data = _written(vertices, faces, random)
        hunt.tried += 1
        begun = process_time()
        try:
            judge_bytes(data, random.choice(_WANTED))
            hunt.count("judged")
        except ScanRefused as refused:
            hunt.count("refused: " + re.sub(r"\d[\d.e+-]*", "N", str(refused.fault["what"]))[:60])
        except Exception as error:  # whatever else it is, is a finding
            hunt.found.append(f"mesh {hunt.tried - 1}, {type(error).__name__}: {error}")
        if process_time() - begun > LONGEST_S:
            hunt.found.append(f"mesh {hunt.tried - 1} took {process_time() - begun:.0f} s")
    return hunt


def sound_surface(around: int = 36, levels: int = 6) -> tuple[Vertices, Faces]:
    """Return the surface of a preparation as it should be."""
    design = PreparationDesign(
        facial_oral_mm=9,
        mesiodistal_mm=7,
        height_mm=4.5,
        convergence_facial_oral_deg=12,
        convergence_mesiodistal_deg=16,
        tilt_deg=4,
        tilt_towards_deg=60,
        proximal_rise_mm=0.4,
    )
    made = preparation_mesh(design, around=around, levels=levels)
    return made.vertices_mm, made.faces


def _bent(vertices: Vertices, faces: Faces, random: Chance) -> tuple[Vertices, Faces]:
    """Return a surface with a fault or two: points moved far off, faces turned, doubled, lost, folded onto each other."""
    vertices, faces = np.array(vertices, dtype=float), np.array(faces)
    for _ in range(random.choice((0, 1, 1, 2))):
        at, face = random.below(len(vertices)), random.below(len(faces))
        match random.below(9):
            case 0:
                vertices[at, random.below(3)] = random.choice(_NUMBERS)
            case 1:
                vertices *= random.choice((1e-12, 1e-3, 1e3, 1e12, -1))
            case 2:
                faces[face] = faces[face][::-1]
            case 3:
                faces = np.vstack([faces, faces[: face + 1]])
            case 4:
                faces = np.delete(faces, slice(face, face + random.choice((1, 5, 60))), axis=0) if len(faces) > 61 else faces
            case 5:
                faces[face, random.below(3)] = random.below(len(vertices))
            case 6:
                vertices[:, random.below(3)] = 0
            case 7:
                vertices[at] = vertices[random.below(len(vertices))]
            case _:
                vertices += np.random.default_rng(random.below(2**32)).normal(0, random.choice((1e-6, 0.05, 2)), vertices.shape)
    return vertices, faces


def _written(vertices: Vertices, faces: Faces, random: Chance) -> bytes:
    name = random.choice(list(FORMATS))
    try:
        data = FORMATS[name](vertices, faces)
    except (OverflowError, struct.error):  # four bytes do not hold it
        data = FORMATS["OBJ"](vertices, faces)
    return mutated_bytes(data, random, random.choice((0, 0, 1, 3, 20)))
