"""Numbers of support: how the attached area shrinks with the bone, and what ratio of crown to root is held acceptable."""

from functools import partial

from collum.evidence.registry import Constant

_exponent = partial(
    Constant,
    checked="2026-11-25",
    unit="1",
    status="derived",
    kind="measured",
    used_for="attached area after loss of bone",
)

CONSTANTS: tuple[Constant, ...] = (
    _exponent(
        key="support.area_exponent.one_root",
        value=1.42,
        low=1.40,
        high=1.46,
        meaning="attached share = (1 - lost share of root length) to this power, one root; 1 is a cylinder, 2 a cone",
        source="hong2018",
        population="premolars at a loss of 15, 30 and 50 %; fit of ours",
    ),
    _exponent(
        key="support.area_exponent.several_roots",
        value=1.24,
        low=1.0,
        high=1.42,
        meaning="the same, several roots; the range is ours",
        source="dunlap_gher1985",
        population="20 lower first molars, one published point (6 of 14.4 mm); fit of ours",
    ),
)
