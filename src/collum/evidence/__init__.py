"""Evidence: every clinical or physical number, once, with value, range, unit, source and how it is known."""

from functools import lru_cache

from collum.evidence import healing, levels, planning, teeth
from collum.evidence.references import REFERENCES
from collum.evidence.registry import Constant, Reference, Registry, Status

__all__ = ["Constant", "Reference", "Status", "all_constants", "all_references", "get", "reference", "value"]


@lru_cache(maxsize=1)
def _registry() -> Registry:
    registry = Registry()
    for source in REFERENCES:
        registry.add_reference(source)
    for module in (levels, healing, planning, teeth):
        for constant in module.CONSTANTS:
            registry.add(constant)
    return registry


@lru_cache(maxsize=None)
def value(key: str) -> float:
    """Return the value of the constant `key`. Raises KeyError naming near keys."""
    return _registry().get(key).value


def get(key: str) -> Constant:
    """Return the whole record of `key`. Raises KeyError naming near keys."""
    return _registry().get(key)


def reference(key: str) -> Reference:
    """Return the source `key`."""
    return _registry().reference(key)


def all_constants() -> tuple[Constant, ...]:
    """Return every constant, in the order of definition."""
    return tuple(_registry())


def all_references() -> tuple[Reference, ...]:
    """Return every source."""
    return REFERENCES
