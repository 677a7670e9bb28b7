"""A sentence as the plan speaks it: a key of the catalogue and its parameters, never words."""

from collections.abc import Mapping
from dataclasses import dataclass, field

Parameter = float | int | str


@dataclass(frozen=True, slots=True)
class Sentence:
    """`key` names a template in the wording catalogue; `parameters` fill it (mm, deg and shares as plain numbers)."""

    key: str
    parameters: Mapping[str, Parameter] = field(default_factory=dict)


def say(key: str, /, **parameters: Parameter) -> Sentence:
    """Return the sentence `key` with its parameters."""
    return Sentence(key, parameters)
