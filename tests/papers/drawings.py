"""Where the names of a drawing lie, and that none lies on another."""

import re
from itertools import combinations
from typing import Any

from collum.wording import text

LABELS = {
    name: text(f"paper.line.{name}")
    for name in (
        "planned_edge",
        "sound_edge",
        "gingival_margin",
        "sulcus_base",
        "crest",
        "crest_after",
        "margin_after",
        "cut_line",
        "sutured_line",
        "rest_line",
        "finish_line",
        "mesial",
        "distal",
    )
}
SIZES = ((1300, 400), (1760, 640), (1760, 520))
TYPE = 30  # size of the type in units of the drawing


def names(svg: str) -> list[tuple[str, float, float, str]]:
    """Every name on the drawing: text, x, y, anchor."""
    found = re.findall(r'<text x="([-\d.]+)" y="([-\d.]+)"([^>]*)>([^<]*)</text>', svg)
    return [
        (said, float(x), float(y), (re.search(r'anchor="(\w+)"', rest) or [None, "start"])[1] or "start")
        for x, y, rest, said in found
    ]


def assert_clear(svg: str, size: tuple[int, int], *, at_least: int = 1) -> None:
    """No name lies on another or off the drawing."""
    boxes = [_box(*name) for name in names(svg)]
    assert len(boxes) >= at_least
    on_another = [(a[0], b[0]) for a, b in combinations(boxes, 2) if _overlap(a, b)]
    assert on_another == [], on_another
    off = [box for box in boxes if box[1] < 0 or box[2] > size[0] or box[3] < 0 or box[4] > size[1]]
    assert off == [], off


def _box(said: str, x: float, y: float, anchor: str) -> tuple[str, float, float, float, float]:
    """The name with its box. Letters of this type as printed: 0.38 of its size wide on average, 0.51 where bold, 0.62 alone."""
    bold = said in [LABELS[name] for name in ("cut_line", "sutured_line", "finish_line", "crest_after")]
    share = 0.62 if said.isdigit() or len(said) < 4 else 0.53 if bold else 0.44
    width = share * TYPE * len(said)
    left = x - {"start": 0.0, "middle": width / 2, "end": width}[anchor]
    return (said, left, left + width, y - 0.7 * TYPE, y + 0.2 * TYPE)


def _overlap(a: Any, b: Any) -> bool:
    return bool(a[1] < b[2] and b[1] < a[2] and a[3] < b[4] and b[3] < a[4])
