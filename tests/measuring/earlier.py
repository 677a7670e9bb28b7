"""Documents as a program of format 1 wrote them, made from those of today."""

import json
from typing import Any

from collum.wire.earlier import _BRIDGE, _PLAN, _RESTORATION

RENAMED: dict[str, Any] = {"plan": _PLAN, "restoration": _RESTORATION, "bridge": _BRIDGE}


def in_format_1(kind: str, written: str) -> str:
    """Return a document (JSON) with the names that its format had at first."""
    return json.dumps({**_back(json.loads(written), RENAMED[kind], ()), "format": f"collum-{kind}/1"}, separators=(",", ":"))


def _back(part: Any, renamed: Any, way: tuple[str, ...]) -> Any:
    if isinstance(part, list):
        return [_back(one, renamed, way) for one in part]
    if not isinstance(part, dict):
        return part
    found = next((names for known, names in renamed.items() if _same(known, way)), {})
    before = {now: old for old, now in found.items()}
    return {before.get(name, name): _back(value, renamed, (*way, name)) for name, value in part.items()}


def _same(known: tuple[str, ...], way: tuple[str, ...]) -> bool:
    return len(known) == len(way) and all(one in ("*", two) for one, two in zip(known, way, strict=True))
