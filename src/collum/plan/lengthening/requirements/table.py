"""All requirements in the order in which they are shown. Assessment, solver, wishes and papers iterate over this table.

A requirement is the file of its id: the vocabulary names it, its file holds the one object of it, in capitals.
"""

from collections.abc import Mapping
from importlib import import_module
from typing import get_args

from collum.plan.lengthening.requirements.requirement import Requirement
from collum.vocabulary import RequirementId


def _of_file(name: RequirementId) -> Requirement:
    """Return the requirement that the file of its id holds."""
    held = getattr(import_module(f"{__package__}.{name}"), name.upper())
    assert isinstance(held, Requirement) and held.id == name, name
    return held


REQUIREMENTS: tuple[Requirement, ...] = tuple(
    sorted((_of_file(name) for name in get_args(RequirementId)), key=lambda requirement: requirement.place)
)
AT_MOST: tuple[RequirementId, ...] = tuple(requirement.id for requirement in REQUIREMENTS if requirement.at_most)
_BY_ID: Mapping[str, Requirement] = {requirement.id: requirement for requirement in REQUIREMENTS}


def requirement_of(name: str) -> Requirement:
    """Return a requirement by its id. Raises KeyError for one that is not in the table."""
    return _BY_ID[name]


def decides(name: str) -> bool:
    """Return whether a requirement counts in verdicts; one that does not is only shown."""
    return _BY_ID[name].decisive
