"""What the gate takes from a stored plan (JSON), read once: of a tooth its number, of its routes verdict and deeds. Pure.

Nothing else of the plan is looked at, and the text that is read here is the one that is printed.
"""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True, kw_only=True)
class StoredRoute:
    """A route of a stored plan. `closed_because`: what the plan says decides against it, None where nothing does.

    `cuts_gum`: some site is cut. `bone_mm`: how far bone is lowered at each station, none where it stays; `raised_mm`:
    how far the tooth is raised, 0 where it is not.
    """

    name: str
    verdict: str
    closed_because: str | None
    cuts_gum: bool
    bone_mm: tuple[float, ...]
    raised_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class StoredTooth:
    """A tooth of a stored plan."""

    number: int
    routes: tuple[StoredRoute, ...]

    def route(self, name: str) -> StoredRoute | None:
        """Return one route; None where the plan does not have it."""
        return next((route for route in self.routes if route.name == name), None)


def stored_tooth(result: str, tooth: int) -> StoredTooth:
    """Return the tooth at a position of a plan (JSON), of every format so far. Raises IndexError for no such tooth."""
    planned = json.loads(result)["teeth"][tooth]
    return StoredTooth(number=planned["number"], routes=tuple(stored_route(route) for route in planned["routes"]))


def stored_route(route: Mapping[str, Any]) -> StoredRoute:
    """Return what the gate reads of a route as a plan holds it."""
    by = route["closed_by"]
    return StoredRoute(
        name=route["name"],
        verdict=route["verdict"],
        closed_because=None if by is None else by["reason"]["text"],
        cuts_gum=any(site["cut"] for site in route["sites"]),
        bone_mm=tuple(route["bone_reduction_mm"] or ()),
        raised_mm=route["extrusion_mm"] or 0,
    )
