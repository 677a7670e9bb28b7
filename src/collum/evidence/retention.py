"""Numbers of retention: what each class of cement holds on a wall, as working ranges, and what the shape is worth.

The ranges of the cements are from memory, at a convergence of 20 degrees; they are widened where a study that was read lies
outside. They rank classes and bound a force; they promise nothing.
"""

from functools import partial

from collum.evidence.registry import Constant

_cement = partial(
    Constant,
    unit="MPa",
    status="memory",
    kind="judgement",
    source="common_practice",
    population="crowns pulled off dies in the laboratory, convergence about 20 degrees; the value is the middle of the range",
    checked="2026-11-25",
    used_for="range of axial retention by class of cement",
)
_angle = partial(
    Constant,
    unit="deg",
    status="memory",
    kind="measured",
    checked="2026-11-25",
    used_for="range of axial retention by class of cement",
)
_lost = partial(
    Constant,
    unit="1",
    kind="measured",
    source="trier1998",
    status="read_second_hand",
    population="castings that came loose",
    checked="2026-11-25",
    used_for="grounds for the loss of an old crown",
)

CONSTANTS: tuple[Constant, ...] = (
    _cement(key="retention.temporary.mpa", value=1.0, low=0.5, high=1.5, meaning="temporary cement, zinc oxide eugenol"),
    _cement(key="retention.zinc_phosphate.mpa", value=2.75, low=1.5, high=4.0, meaning="zinc phosphate cement"),
    _cement(key="retention.polycarboxylate.mpa", value=3.0, low=2.0, high=4.0, meaning="polycarboxylate cement"),
    _cement(key="retention.glass_ionomer.mpa", value=3.0, low=2.0, high=4.0, meaning="glass ionomer cement"),
    _cement(
        key="retention.resin_glass_ionomer.mpa",
        value=4.7,
        low=3.0,
        high=6.4,
        meaning="resin-modified glass ionomer; its upper end holds a laboratory study (Ergin and Gemalmaz) that was read",
    ),
    _cement(key="retention.self_adhesive_resin.mpa", value=5.5, low=3.0, high=8.0, meaning="self-adhesive resin cement"),
    _cement(key="retention.bonded_resin.mpa", value=7.0, low=4.0, high=10.0, meaning="resin cement, etched and primed"),
    _angle(
        key="retention.reference_convergence_deg",
        value=20.0,
        low=15.0,
        high=25.0,
        meaning="convergence at which the ranges of the cements hold; retention goes by its ratio to the true one",
        source="common_practice",
        population="as the ranges of the cements",
    ),
    _angle(
        key="retention.least_convergence_deg",
        value=5.0,
        low=5.0,
        high=10.0,
        meaning="convergence below which the hyperbola is not followed any further",
        source="jorgensen1955",
        population="crowns on dies, zinc phosphate",
    ),
    _lost(
        key="retention.lost_without_resistance_share",
        value=0.95,
        low=0.95,
        high=1.0,
        meaning="share of castings that came loose whose preparation lacked resistance form",
    ),
)
