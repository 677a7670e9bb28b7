"""Raising an older case document to today's format: one pure function from each number to the next."""

from collections.abc import Callable, Mapping

from collum.case.shapes import Json

STEPS: Mapping[int, Callable[[Json], Json]] = {}


def upgraded(document: Json, number: int) -> Json:
    """Return the document of format `number` in today's format."""
    while number in STEPS:
        document = STEPS[number](document)
        number += 1
    return document
