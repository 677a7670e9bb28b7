"""Tooth and site beside the path of a fault, so that `teeth[0].sites.probing_depth[2]` needs no counting."""

import re
from collections.abc import Iterable
from dataclasses import replace

from collum.case.faults import Fault, Finder
from collum.case.shapes import Json
from collum.case.tooth_number import tooth_number

_TOOTH = re.compile(r"teeth\[([0-9]+)\]")
_READING = re.compile(r"teeth\[[0-9]+\]\.sites\.[a-z_]+\[([0-9]+)\]")
_NAMED = re.compile(r"teeth\[[0-9]+\]\.sites\.[a-z_]+\.[A-Z0-9]+\b")


def with_places(faults: Iterable[Fault], checked: Json) -> tuple[Fault, ...]:
    """Return the faults with tooth and site beside their paths; `checked` is what the shapes kept of the document."""
    teeth = checked.get("teeth") or [] if isinstance(checked, dict) else []
    return tuple(replace(fault, where=_placed(fault.where, teeth)) for fault in faults)


def _placed(where: str, teeth: list[Json]) -> str:
    found = _TOOTH.match(where)
    tooth = teeth[int(found[1])] if found and int(found[1]) < len(teeth) else None
    number = tooth_number(tooth, "", Finder()) if tooth else None
    if number is None or _NAMED.match(where):
        return where
    names = [f"tooth {number}"]
    reading = _READING.match(where)
    order = ((tooth or {}).get("sites") or {}).get("order") or []
    if reading and ".sites.order" not in where and int(reading[1]) < len(order) and order[int(reading[1])]:
        names.append(order[int(reading[1])])
    return f"{where} ({', '.join(names)})"
