"""Numbers of the diagnosis before any line is drawn: canal, crack, the present restoration, hygiene, support of the root."""

from functools import partial

from collum.evidence.registry import Constant

_diagnosis = partial(Constant, checked="2026-11-30", used_for="diagnosis before the plan", population="any")
_taught = partial(_diagnosis, source="clinical_teaching", status="memory", kind="convention")
_choice = partial(_diagnosis, source="collum_decision", status="choice", kind="judgement")

CONSTANTS: tuple[Constant, ...] = (
    _taught(
        key="plan.plaque_limit_percent",
        value=20.0,
        low=15.0,
        high=40.0,
        unit="%",
        meaning="share of sites with plaque above which no plan is final",
    ),
    _taught(
        key="plan.bleeding_limit_percent",
        value=25.0,
        low=10.0,
        high=40.0,
        unit="%",
        meaning="share of sites that bleed above which no plan is final",
    ),
    _taught(
        key="plan.root_filling_short_mm",
        value=2.0,
        low=1.0,
        high=3.0,
        unit="mm",
        meaning="a root filling that ends further from the apex is short",
    ),
    _taught(
        key="plan.open_to_saliva_months",
        value=3.0,
        low=1.0,
        high=6.0,
        unit="1",
        meaning="months open to saliva after which a root filling is asked about",
    ),
    _taught(
        key="plan.lesion_waits_mm",
        value=5.0,
        low=3.0,
        high=8.0,
        unit="mm",
        meaning="lesion at the root end from which the definitive crown waits for a film that shows healing",
    ),
    _choice(
        key="plan.crack_probing_mm",
        value=6.0,
        low=5.0,
        high=8.0,
        unit="mm",
        meaning="a single site probed so deep, between shallow ones, is taken for a crack until shown otherwise",
    ),
    _choice(
        key="plan.crack_deeper_mm",
        value=3.0,
        low=2.0,
        high=4.0,
        unit="mm",
        meaning="by how much that site is deeper than both beside it",
    ),
    _choice(
        key="plan.near_bone_possible_mm",
        value=3.0,
        low=2.5,
        high=3.5,
        unit="mm",
        meaning="bleeding at a restoration margin nearer to the crest than this may come from there",
    ),
    _choice(
        key="plan.near_bone_likely_mm",
        value=2.5,
        low=2.0,
        high=3.0,
        unit="mm",
        meaning="bleeding after hygiene at a restoration margin nearer to the crest than this probably comes from there",
    ),
    _choice(
        key="plan.hygiene_checked.from_weeks",
        value=4.0,
        low=2.0,
        high=6.0,
        unit="weeks",
        meaning="weeks after a hygiene phase from which bleeding that is left comes from something else than plaque",
    ),
    _choice(
        key="plan.hygiene_checked.to_weeks",
        value=8.0,
        low=6.0,
        high=13.0,
        unit="weeks",
        meaning="weeks after a hygiene phase up to which bleeding that is read is held against it",
    ),
    _choice(
        key="plan.post_lost_times",
        value=2.0,
        low=2.0,
        high=4.0,
        unit="1",
        meaning="times that a crown came off with its post, from which a crack is looked for; once may be the ferrule alone",
    ),
    _choice(
        key="plan.support_less_over_norm",
        value=0.25,
        low=0.1,
        high=0.4,
        unit="1",
        meaning="crown to root so far over the norm of the tooth is worth a caution",
    ),
    _choice(
        key="plan.support_little_over_norm",
        value=0.5,
        low=0.3,
        high=0.8,
        unit="1",
        meaning="crown to root so far over the norm of the tooth is too little support",
    ),
    _choice(
        key="plan.support_little_ratio",
        value=1.5,
        low=1.2,
        high=2.0,
        unit="1",
        meaning="crown to root above which there is too little support, whatever the norm of the tooth",
    ),
)
