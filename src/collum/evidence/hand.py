"""What a hand can cut: bounds on the line of a cut and of bone work that is done free-hand along the neck."""

from functools import partial

from collum.evidence.registry import Constant

_choice = partial(
    Constant,
    checked="2026-11-30",
    used_for="a cut a hand can make",
    source="collum_decision",
    status="choice",
    kind="judgement",
    population="any",
)
_numerical = partial(
    Constant,
    checked="2026-11-30",
    used_for="the programme",
    source="collum_decision",
    status="choice",
    kind="numerical",
    population="any",
)

CONSTANTS: tuple[Constant, ...] = (
    _choice(
        key="plan.hand.step_mm",
        value=0.5,
        low=0.5,
        high=1.0,
        unit="mm",
        meaning="step of the depths that are printed for a site; the least cut at a site is one step",
    ),
    _choice(
        key="plan.hand.overlooked_mm",
        value=0.1,
        low=0.0,
        high=0.25,
        unit="mm",
        meaning="what a rule needs over a step is overlooked up to this before the next step is taken",
    ),
    _choice(
        key="plan.hand.depth_change",
        value=0.6,
        low=0.3,
        high=1.0,
        unit="1",
        meaning="steepest change of the depth of a cut along the neck, its run-out to nothing among it, mm a mm of arc",
    ),
    _choice(
        key="plan.hand.margin_slope",
        value=1.0,
        low=0.5,
        high=1.5,
        unit="1",
        meaning="steepest slope of the resulting margin along the neck where it is not as steep today, mm a mm of arc",
    ),
    _choice(
        key="plan.hand.bend_radius_mm",
        value=2.0,
        low=1.0,
        high=4.0,
        unit="mm",
        meaning="least radius of a bend of the resulting margin where it does not bend as much today",
    ),
    _choice(
        key="plan.hand.ridge_mm",
        value=0.3,
        low=0.0,
        high=0.5,
        unit="mm",
        meaning="how much deeper than both sites beside it a cut may be between them, and a second low place of a face may be",
    ),
    _choice(
        key="plan.hand.crest_slope",
        value=0.5,
        low=0.3,
        high=1.0,
        unit="1",
        meaning="steepest slope of the new crest along the neck where it is not as steep today, mm a mm of arc",
    ),
    _choice(
        key="plan.hand.bone_width_mm",
        value=4.0,
        low=2.0,
        high=6.0,
        unit="mm",
        meaning="least width along the neck of a change of the crest",
    ),
    _choice(
        key="plan.hand.neighbour_bone_mm",
        value=1.0,
        low=0.0,
        high=2.0,
        unit="mm",
        meaning="most bone taken on the facing side of a neighbour that has no consent of its own",
    ),
    _choice(
        key="plan.hand.neighbour_half_width_deg",
        value=20.0,
        low=10.0,
        high=30.0,
        unit="deg",
        meaning="half width round the contact within which bone is the neighbour's facing side too",
    ),
    _numerical(
        key="plan.weight.bending_shaped",
        value=0.02,
        low=0.0,
        high=1.0,
        unit="mm2",
        meaning="cost of bending of a cut whose bends are bounded",
    ),
    _numerical(
        key="plan.weight.printed",
        value=200_000.0,
        low=100_000.0,
        high=400_000.0,
        unit="1/mm",
        meaning="cost of a line off a printed depth, so great that it happens only where no line passes through all of them",
    ),
    _numerical(
        key="plan.hand.off_printed_mm",
        value=1e-4,
        low=1e-6,
        high=1e-3,
        unit="mm",
        meaning="what the solver may leave between a line and a printed depth that it passes through",
    ),
    _numerical(
        key="plan.hand.check",
        value=2e-3,
        low=1e-4,
        high=1e-2,
        unit="1",
        meaning="what printing six decimals adds to a slope or a bend over a third of a millimetre, with room",
    ),
)
