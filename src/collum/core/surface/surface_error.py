"""Why a set of facets is no surface of a preparation."""

from typing import Literal

SurfaceFault = Literal[
    "empty",
    "not_finite",
    "no_such_vertex",
    "path",
    "line",
    "line_broken",
    "line_parts_nothing",
    "edge_of_three",
    "pieces",
    "closed",
    "holes",
    "pinched",
    "one_sided",
    "path_across",
]


class SurfaceError(ValueError):
    """The facets are no surface of a preparation. `fault` is the key of the reason, `count` how often it was met."""

    def __init__(self, fault: SurfaceFault, count: int = 1) -> None:
        super().__init__(f"{fault}: {count}")
        self.fault: SurfaceFault = fault
        self.count = count
