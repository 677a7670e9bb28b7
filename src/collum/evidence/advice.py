"""Numbers of the advice: words for a chance, the chance each kind of treatment is recommended from, and its burden."""

from functools import partial

from collum.evidence.registry import Constant

_choice = partial(
    Constant,
    checked="2026-11-30",
    used_for="what is recommended",
    source="collum_decision",
    status="choice",
    kind="judgement",
    population="any",
)
_chance = partial(_choice, low=0.0, high=1.0, unit="1")
_burden = partial(_choice, low=0.0, high=10.0, unit="1")

CONSTANTS: tuple[Constant, ...] = (
    _chance(key="plan.advice.probably_from", value=2 / 3, meaning="chance from which what is in doubt is called probable"),
    _chance(key="plan.advice.unlikely_below", value=1 / 3, meaning="chance below which what is in doubt is called unlikely"),
    _chance(
        key="plan.advice.least.without_cutting", value=0.5, meaning="chance from which a way that cuts nothing is recommended"
    ),
    _chance(
        key="plan.advice.least.bone_or_extrusion",
        value=0.5,
        meaning="chance from which bone surgery or extrusion is recommended",
    ),
    _chance(
        key="plan.advice.least.bone_or_extrusion_visible",
        value=2 / 3,
        meaning="the same where the smile shows the tooth",
    ),
    _burden(
        key="plan.advice.burden.elevation",
        value=0.5,
        meaning="burden of a restoration that cuts nothing but raises a margin, or covers a tooth in part",
    ),
    _burden(key="plan.advice.burden.gum", value=1.0, meaning="burden of cutting gum, where cutting nothing has none"),
    _burden(key="plan.advice.burden.bone", value=3.0, meaning="burden of bone surgery"),
    _burden(key="plan.advice.burden.bone_visible", value=4.0, meaning="burden of bone surgery where the smile shows it"),
    _burden(key="plan.advice.burden.extrusion", value=4.0, meaning="burden of extrusion"),
    _burden(
        key="plan.advice.burden.extrusion_visible_one_root",
        value=3.0,
        meaning="burden of extrusion of a tooth with one root where the smile shows it",
    ),
    _burden(key="plan.advice.burden.replacement", value=6.0, meaning="burden of extraction with a replacement"),
    _choice(
        key="plan.advice.staged_keratinised_mm",
        value=2.0,
        low=2.0,
        high=5.0,
        unit="mm",
        meaning="least keratinised tissue left for a later flap where gum is cut first and bone perhaps afterwards",
    ),
    _choice(
        key="plan.advice.between_teeth_half_width_deg",
        value=20.0,
        low=10.0,
        high=45.0,
        unit="deg",
        meaning="half width of what lies between two teeth: where height over bone lacks there, no cut of gum goes first",
    ),
)
