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
_ratio = partial(
    Constant,
    checked="2026-11-25",
    unit="1",
    status="read",
    kind="guideline",
    source="shillingburg",
    population="textbook; no figure of its own evidence",
    used_for="grade of the crown-to-root ratio",
)
_opposing = partial(
    Constant,
    checked="2026-11-25",
    unit="N",
    status="derived",
    kind="measured",
    source="shillingburg",
    used_for="force of the opposing teeth beside the crown-to-root ratio",
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
    _ratio(
        key="support.crown_to_root.optimum", value=2 / 3, low=0.5, high=2 / 3, meaning="crown-to-root ratio held to be best"
    ),
    _opposing(
        key="support.opposing.natural_n",
        value=667.2,
        low=667.0,
        high=667.4,
        meaning="force of natural opposing teeth (150 lb)",
        population="textbook",
    ),
    _opposing(
        key="support.opposing.bridge_n",
        value=242.4,
        low=242.2,
        high=242.6,
        meaning="force of an opposing bridge (54.5 lb)",
        population="textbook",
    ),
    _opposing(
        key="support.opposing.denture_n",
        value=115.7,
        low=115.5,
        high=115.9,
        meaning="force of an opposing removable denture (26 lb)",
        population="textbook",
    ),
)
