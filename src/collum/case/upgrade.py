"""Raising an older case document to today's format: one pure function from each number to the next."""

from collections.abc import Callable, Mapping

from collum.case.shapes import Json


def _with_answers(document: Json) -> Json:
    """1 to 2: a visit may hold the answers of the safety screening. Nothing was answered before, so nothing is added."""
    return {**document, "format": "collum-case/2"}


STEPS: Mapping[int, Callable[[Json], Json]] = {1: _with_answers}


def upgraded(document: Json, number: int) -> Json:
    """Return the document of format `number` in today's format."""
    while number in STEPS:
        document = STEPS[number](document)
        number += 1
    return document
