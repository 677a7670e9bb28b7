"""Numbers of restoring without cutting: margins raised with composite, a little more bite, and the visits of each way."""

from functools import partial

from collum.evidence.registry import Constant

_elevation = partial(Constant, checked="2026-11-30", used_for="raising a deep margin with composite")
_limit = partial(_elevation, source="collum_decision", status="choice", kind="judgement", population="any", unit="mm")
_visits = partial(
    Constant,
    checked="2026-11-30",
    used_for="what a procedure costs",
    source="collum_decision",
    status="choice",
    kind="judgement",
    population="any",
    low=1.0,
    high=20.0,
    unit="1",
)

CONSTANTS: tuple[Constant, ...] = (
    _limit(
        key="plan.elevation.raised_least_mm",
        value=0.5,
        low=0.5,
        high=0.7,
        meaning="least height of a raised margin above the gum",
    ),
    _limit(
        key="plan.elevation.raised_most_mm",
        value=1.0,
        low=0.8,
        high=1.0,
        meaning="greatest height of a raised margin above the gum",
    ),
    _limit(
        key="plan.elevation.arc_most_deg",
        value=120.0,
        low=60.0,
        high=120.0,
        unit="deg",
        meaning="widest deep margin of one proximal surface that is raised, as an arc round the neck",
    ),
    _limit(
        key="plan.elevation.off_side_deg",
        value=45.0,
        low=20.0,
        high=45.0,
        unit="deg",
        meaning="how far the middle of a raised margin may be from the middle of the proximal side",
    ),
    _limit(
        key="plan.elevation.seat_closed_below_mm",
        value=2.0,
        low=2.0,
        high=2.5,
        meaning="height of the sound edge above the crest below which its margin is not raised with composite",
    ),
    _limit(
        key="plan.elevation.seat_width_mm",
        value=1.0,
        low=1.0,
        high=2.0,
        meaning="least width of the dentine that the composite of a raised margin sits on",
    ),
    _limit(
        key="plan.without.opposing_trimmed_most_mm",
        value=0.5,
        low=0.2,
        high=0.5,
        used_for="restoring without lengthening",
        meaning="most that is taken of an over-erupted opposing tooth, within its enamel",
    ),
    _elevation(
        key="plan.elevation.known.survival_percent",
        value=95.9,
        low=90.0,
        high=98.0,
        unit="%",
        meaning="restorations over a raised margin that survived up to 12 years; root-filled teeth fractured more often",
        source="bresser2019",
        status="read",
        kind="measured",
        population="restorations over raised margins, abstract",
    ),
    _elevation(
        key="plan.elevation.known.longest_years",
        value=12.0,
        low=1.0,
        high=12.0,
        unit="years",
        meaning="longest time that restorations over a raised margin were followed",
        source="bresser2019",
        status="read",
        kind="measured",
        population="the same, abstract",
    ),
    _elevation(
        key="plan.elevation.known.mean_months",
        value=58.0,
        low=1.0,
        high=144.0,
        unit="months",
        meaning="mean time that restorations over a raised margin were followed",
        source="bresser2019",
        status="read",
        kind="measured",
        population="the same, abstract",
    ),
    _elevation(
        key="plan.elevation.known.bleeding_of_ten",
        value=4.0,
        low=0.0,
        high=10.0,
        unit="1",
        meaning="of ten raised margins, how many bled on probing after a year",
        source="ghezzi2019",
        status="read",
        kind="measured",
        population="15 patients",
    ),
    _elevation(
        key="plan.elevation.known.bleeding_patients",
        value=15.0,
        low=1.0,
        high=100.0,
        unit="1",
        meaning="patients in whom bleeding at raised margins was looked at",
        source="ghezzi2019",
        status="read",
        kind="measured",
        population="15 patients",
    ),
    _visits(
        key="plan.price.visits.without_lengthening", value=2.0, meaning="visits of a restoration: preparing and placing it"
    ),
    _visits(
        key="plan.price.visits.margin_elevation",
        value=2.0,
        meaning="visits with a raised margin: raised and prepared in one, placed in the next",
    ),
    _visits(
        key="plan.price.visits.soft_tissue",
        value=5.0,
        meaning="visits with gum cut: the cut, a check, two readings of the margin with the impression, placing",
    ),
    _visits(
        key="plan.price.visits.bone_surgery",
        value=6.0,
        meaning="visits with bone surgery: the same and one for the sutures",
    ),
    _visits(
        key="plan.price.visits.extrusion",
        value=5.0,
        meaning="visits with extrusion, beside one in each week of movement: appliance, holding, trimming, impression, placing",
    ),
)
