"""Numbers of what is read from scans: what a surface of one preparation can measure, and when two of its points are one."""

from functools import partial

from collum.evidence.registry import Constant

_scan = partial(
    Constant,
    unit="mm",
    source="collum_decision",
    status="choice",
    kind="judgement",
    population="any",
    checked="2026-11-25",
    used_for="reading the surface of one preparation",
)

CONSTANTS: tuple[Constant, ...] = (
    _scan(
        key="scan.preparation.least_extent_mm",
        value=2.0,
        low=1.0,
        high=3.0,
        meaning="a surface smaller than this in its greatest extent is no preparation, or in another unit",
    ),
    _scan(
        key="scan.preparation.most_extent_mm",
        value=30.0,
        low=20.0,
        high=40.0,
        meaning="a surface larger than this in its greatest extent is no single preparation, or in another unit",
    ),
    _scan(
        key="scan.weld_mm",
        value=0.001,
        low=0.0,
        high=0.005,
        meaning="points of a surface this close to each other are one: below what any scanner resolves",
    ),
)
