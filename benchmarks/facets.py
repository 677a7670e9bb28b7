"""The test of resistance on the facets of a large mesh, beside a plain loop over the pivots."""

import numpy as np

from benchmarks.measuring import milliseconds, spread
from collum.core.preparation.facet_resistance import foremost_points, negative_share, resistive_area_mm2, tipping_directions
from collum.core.preparation.made import Groove, PreparationDesign, preparation_mesh

PIVOTS = 360
SAME_SHARE = 5e-4  # a wall that all but slides (the groove, in two directions) counts a little less in single precision
DESIGN = PreparationDesign(
    facial_oral_mm=10,
    mesiodistal_mm=9,
    height_mm=4,
    convergence_facial_oral_deg=20,
    convergence_mesiodistal_deg=16,
    tilt_deg=5,
    tilt_towards_deg=40,
    proximal_rise_mm=0.8,
    grooves=(Groove(at_deg=85, depth_mm=1, width_mm=1.2, taper_deg=1),),
)


def resistance_of_facets(repeats: int) -> dict[str, object]:
    """200,000 facets, tipping in 360 directions, surface checked before. Limit 0.3 s on two cores; one thread is used.

    The peer is the test as it is written down, pivot after pivot, and cuts the facets that change sign, so that both give the
    same answer. The time of a loop that only asks the centres of the facets stands beside it, with how far it is off.
    """
    surface = preparation_mesh(DESIGN, around=1000, levels=99)
    onward = tipping_directions(surface.path, (1, 0, 0), (0, 1, 0), np.arange(PIVOTS) * (360 / PIVOTS) + 0.1)
    pivots = foremost_points(surface.finish_line_mm, onward, surface.path)
    axes = np.cross(surface.path, onward)
    corners = surface.vertices_mm[surface.faces]
    centres = corners.mean(axis=1)
    found: dict[str, np.ndarray] = {}
    times: dict[str, list[float]] = {"program": [], "plain_loop": [], "loop_over_centres": []}

    def program() -> None:
        found["program"] = resistive_area_mm2(surface, pivots, axes)

    def plain_loop() -> None:
        areas = []
        for pivot, axis in zip(pivots, axes, strict=True):
            against = np.einsum("fcx,fx->fc", np.cross(axis, corners - pivot), surface.normals)
            areas.append(surface.areas_mm2 @ negative_share(*against.T))
        found["plain_loop"] = np.array(areas)

    def loop_over_centres() -> None:
        areas = []
        for pivot, axis in zip(pivots, axes, strict=True):
            against = np.einsum("fx,fx->f", np.cross(axis, centres - pivot), surface.normals) < 0
            areas.append(surface.areas_mm2[against].sum())
        found["loop_over_centres"] = np.array(areas)

    program()
    for _ in range(repeats):
        for name, task in (("program", program), ("plain_loop", plain_loop), ("loop_over_centres", loop_over_centres)):
            times[name].append(milliseconds(task))
    apart = {name: float(np.max(np.abs(found[name] / found["program"] - 1))) for name in ("plain_loop", "loop_over_centres")}
    spreads = {name: spread(taken) for name, taken in times.items()}
    same = apart["plain_loop"] <= SAME_SHARE
    ratio = round(spreads["plain_loop"]["median_ms"] / spreads["program"]["median_ms"], 1)
    return {
        **spreads,
        "largest_relative_difference": {name: round(value, 7) for name, value in apart.items()},
        "same_answer": same,
        **({"plain_loop_takes_times": ratio} if same else {}),
        "facets": len(surface.faces),
        "pivots": PIVOTS,
        "limit_ms": 300,
        "least_ratio": 20,
    }
