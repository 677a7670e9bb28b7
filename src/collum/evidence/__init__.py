"""The clinical and physical numbers of the program: one registry, one record per number, asked for by key.

`value("plan.limit.ferrule_mm")` gives the number, `get` its whole record, `reference` the work it comes from. The registry is
filled when the package is imported; a number without unit, origin or status, outside its own range, or defined twice stops the
import.
"""

from collum.evidence import (
    advice,
    bridge,
    bridge_parts,
    chair,
    coverage,
    diagnosis,
    elevation,
    ferrule,
    hand,
    healing,
    heat,
    heat_limits,
    heat_numerics,
    levels,
    looks,
    pacing,
    patient,
    planning,
    posts,
    practice,
    ranges,
    restoration,
    retention,
    routes,
    safety,
    scans,
    support,
    teeth,
)
from collum.evidence.references import REFERENCES
from collum.evidence.registry import Constant, Kind, Reference, Registry, Status

__all__ = [
    "Constant",
    "Kind",
    "Reference",
    "Registry",
    "Status",
    "all_constants",
    "all_references",
    "get",
    "reference",
    "value",
]

_PARTS = (
    levels,
    looks,
    healing,
    planning,
    hand,
    restoration,
    routes,
    advice,
    diagnosis,
    coverage,
    elevation,
    retention,
    ferrule,
    posts,
    support,
    teeth,
    practice,
    ranges,
    heat,
    heat_limits,
    heat_numerics,
    pacing,
    safety,
    patient,
    chair,
    bridge,
    bridge_parts,
    scans,
)


def value(key: str) -> float:
    """Return the number of `key`, in the unit of its record; raises KeyError where it is unknown."""
    return _REGISTRY.get(key).value


def get(key: str) -> Constant:
    """Return the whole record of `key`; raises KeyError where it is unknown."""
    return _REGISTRY.get(key)


def reference(key: str) -> Reference:
    """Return the work or decision under `key`, the `source` of a constant; raises KeyError where it is unknown."""
    return _REGISTRY.reference(key)


def all_constants() -> tuple[Constant, ...]:
    """Return every record, in the order of the parts of this package."""
    return tuple(_REGISTRY)


def all_references() -> tuple[Reference, ...]:
    """Return every work and decision, also those no constant rests on yet."""
    return REFERENCES


def _filled() -> Registry:
    registry = Registry()
    for work in REFERENCES:
        registry.add_reference(work)
    for part in _PARTS:
        for constant in part.CONSTANTS:
            registry.add(constant)
    return registry


_REGISTRY = _filled()
