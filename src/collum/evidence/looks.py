"""Numbers of the margin that is wished where the smile shows it."""

from functools import partial

from collum.evidence.registry import Constant

_looks = partial(Constant, checked="2026-11-30", used_for="the wished margin", population="any")
_choice = partial(_looks, source="collum_decision", status="choice", kind="judgement")

CONSTANTS: tuple[Constant, ...] = (
    _choice(
        key="plan.limit.visible_difference_high_smile_mm",
        value=1.0,
        low=0.5,
        high=2.0,
        unit="mm",
        meaning="difference between a settled margin and the wished one that is seen, with a high smile line",
    ),
    _choice(
        key="plan.limit.visible_difference_mm",
        value=1.5,
        low=0.5,
        high=3.0,
        unit="mm",
        meaning="the same where the smile line is not high",
    ),
    _choice(
        key="plan.mirror_margin_above_cej_mm",
        value=1.0,
        low=0.5,
        high=2.0,
        unit="mm",
        meaning="how far above its junction the margin of a mirror tooth is at least, if that tooth is lengthened instead",
    ),
    _choice(
        key="plan.limit.keratinised_tissue_in_front_mm",
        value=3.0,
        low=2.0,
        high=5.0,
        unit="mm",
        meaning="least keratinised tissue left from the new margin on, at a front tooth that shows",
    ),
    _choice(
        key="plan.advice.least.gum_for_looks",
        value=0.5,
        low=0.0,
        high=1.0,
        unit="1",
        meaning="chance of the wished margin from which gum is cut for the look",
    ),
    _looks(
        key="plan.passive_eruption_crest_mm",
        value=1.0,
        low=1.0,
        high=1.5,
        unit="mm",
        source="clinical_teaching",
        status="memory",
        kind="convention",
        meaning="altered passive eruption: a crest nearer than this to the junction is lowered, whatever gum is cut",
    ),
)
