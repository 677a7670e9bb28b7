"""Wishes for bridges from outside the case file, in its own keys: checked by its shapes, then laid over what is recorded."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from collum.case.bridge import Bed, Bridge
from collum.case.bridge_layout import WISHES
from collum.case.faults import CaseFaults, Finder, said
from collum.case.model import Case
from collum.case.parts import wishes_in
from collum.case.shapes import Json


def with_wishes(case: Case, wishes: Json, where: str = "wishes") -> Case:
    """Return the case with the wishes over those of each of its bridges; a bed goes to the bridges that have its pontic.

    `where` is put before the place of a fault. Raises CaseFaults with every fault.
    """
    finder = Finder()
    checked = WISHES.check(wishes, where, finder) or {}
    beds = [bed for bed in checked.get("beds") or [] if bed is not None]
    check_beds(
        beds, [number for bridge in case.bridges for number in bridge.pontics], f"{where}.beds" if where else "beds", finder
    )
    if finder.faults:
        raise CaseFaults(tuple(finder.faults))
    alike = wishes_in({key: wish for key, wish in checked.items() if key != "beds"})
    return replace(case, bridges=tuple(_laid_over(bridge, alike, beds) for bridge in case.bridges))


def check_beds(beds: Json, pontics: Json, where: str, finder: Finder) -> None:
    """A bed lies under a pontic, and under each only one."""
    numbers = [(bed or {}).get("tooth") for bed in beds]
    for i, number in enumerate(numbers):
        if number is not None and number in numbers[:i]:
            finder.add(f"{where}[{i}].tooth", said("what.tooth_twice"), said("allowed.once"), number)
        elif number is not None and number not in pontics:
            allowed = said("allowed.pontic", pontics=", ".join(str(pontic) for pontic in pontics) or "-")
            finder.add(f"{where}[{i}].tooth", said("what.no_pontic"), allowed, number)


def _laid_over(bridge: Bridge, alike: Mapping[str, Any], beds: Json) -> Bridge:
    found = {bed.tooth: bed for bed in bridge.beds or ()}
    for bed in beds:
        if bed["tooth"] in bridge.pontics:
            found[bed["tooth"]] = replace(found.get(bed["tooth"], Bed(tooth=bed["tooth"])), **bed)
    return replace(bridge, **alike, beds=tuple(found.values()) or bridge.beds)
