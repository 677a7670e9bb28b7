"""Numbers of posts and pins: lengths, diameters, what must be left of root filling and dentine, spacing."""

from functools import partial

from collum.evidence.registry import Constant

_post = partial(Constant, checked="2026-11-25", kind="guideline", used_for="post window of a root")
_length = partial(_post, unit="mm")
_share = partial(_post, unit="1")
_diameter = partial(
    _length,
    source="baba2013",
    status="read",
    population="conservative figures of a textbook on root-filled teeth; the range is ours",
    used_for="largest diameter of a post",
)
_pin = partial(
    Constant,
    checked="2026-11-25",
    unit="mm",
    kind="guideline",
    status="read",
    source="pin_page",
    population="teaching page",
    used_for="pins on the cross-section",
)
_gauge = partial(
    _pin, source="pin_sizes_page", status="derived", kind="convention", population="trade sizes in inches, turned into mm"
)

# tooth kinds by the largest diameter of a post the textbook allows
_THICKEST = {
    0.6: ("lower1", "lower2"),
    0.9: ("upper2", "upper4", "upper5", "lower4", "lower5", "upper6", "upper7", "upper8", "lower6", "lower7", "lower8"),
    1.0: ("upper3", "lower3"),
    1.1: ("upper1",),
}

_POSTS: tuple[Constant, ...] = (
    _length(
        key="post.apical_seal_mm",
        value=5.0,
        low=4.0,
        high=5.0,
        meaning="root filling left at the apex under a post",
        source="morgano1996",
        status="read",
        population="reviews: 4 to 5 mm",
    ),
    _length(
        key="post.apical_seal_least_mm",
        value=4.0,
        low=4.0,
        high=5.0,
        meaning="the least root filling left at the apex under a post",
        source="mclean1998",
        status="read",
        population="clinical paper",
    ),
    _length(
        key="post.molar_most_mm",
        value=7.0,
        low=5.0,
        high=7.0,
        meaning="greatest length of a post in a molar",
        source="baba2013",
        status="read",
        population="textbook; in 20 of 75 mesial roots only a thin layer was left at 7 mm; the range is ours",
    ),
    _share(
        key="post.crown_height_share",
        value=1.0,
        low=1.0,
        high=1.0,
        meaning="least length of a post as a share of the height of the crown",
        source="post_teaching_page",
        status="read_second_hand",
        population="teaching page; a retrospective series behind it is known from memory only",
    ),
    _share(
        key="post.bone_supported_share",
        value=0.5,
        low=0.5,
        high=0.5,
        meaning="how far a post reaches into the part of the root that stands in bone",
        source="post_teaching_page",
        status="read_second_hand",
        population="teaching page",
    ),
    _share(
        key="post.root_share",
        value=2 / 3,
        low=0.5,
        high=0.75,
        meaning="length of a post as a share of the root",
        source="common_practice",
        status="common_practice",
        population="textbooks, from memory; one asks three quarters where possible and half at the least",
    ),
    _share(
        key="post.width_share",
        value=1 / 3,
        low=1 / 3,
        high=0.5,
        meaning="greatest diameter of a post as a share of the root's width at its tip",
        source="shillingburg",
        status="memory",
        population="textbook; a review that was read allows a half",
        used_for="largest diameter of a post",
    ),
    _length(
        key="post.dentine_mm",
        value=1.0,
        low=1.0,
        high=1.75,
        meaning="dentine left round a post",
        source="mclean1998",
        status="read",
        population="clinical paper; some ask 1.75",
        used_for="largest diameter of a post",
    ),
    _share(
        key="post.root_narrowing",
        value=0.65,
        low=0.5,
        high=0.8,
        meaning="share by which a root narrows from neck to apex, straight; for roots whose width was not measured",
        source="collum_decision",
        status="derived",
        kind="judgement",
        population="fit of ours to carving averages, of low trust",
        used_for="width of a root at the tip of a post",
    ),
    *(
        _diameter(
            key=f"post.most_diameter.{kind}_mm",
            value=mm,
            low=0.5,
            high=1.7,
            meaning=f"greatest diameter of a post, {kind[:-1]} tooth {kind[-1]} from the midline",
        )
        for mm, kinds in _THICKEST.items()
        for kind in kinds
    ),
)

_PINS: tuple[Constant, ...] = (
    _pin(key="pin.to_enamel_junction_mm", value=0.5, low=0.5, high=1.0, meaning="least dentine from a pin to the enamel"),
    _pin(key="pin.to_surface_mm", value=1.0, low=1.0, high=1.5, meaning="least dentine from a pin to the outer surface"),
    _pin(key="pin.to_pulp_mm", value=1.0, low=1.0, high=1.5, meaning="least dentine from a pin to the pulp"),
    _pin(key="pin.material_over_mm", value=2.0, low=2.0, high=3.0, meaning="least material over the end of a pin"),
    _pin(key="pin.threaded.dentine_mm", value=2.0, low=2.0, high=3.0, meaning="depth in dentine, self-threading pin"),
    _pin(key="pin.threaded.material_mm", value=2.0, low=2.0, high=3.0, meaning="length in the core, self-threading pin"),
    _pin(key="pin.cemented.dentine_mm", value=3.0, low=2.0, high=3.0, meaning="depth in dentine, cemented pin"),
    _pin(key="pin.cemented.material_mm", value=2.0, low=2.0, high=3.0, meaning="length in the core, cemented pin"),
    _pin(key="pin.friction.dentine_mm", value=3.0, low=2.0, high=3.0, meaning="depth in dentine, friction pin"),
    _pin(key="pin.friction.material_mm", value=3.0, low=2.0, high=3.0, meaning="length in the core, friction pin"),
    _pin(key="pin.cemented.spacing_mm", value=2.0, low=2.0, high=5.0, meaning="least spacing of cemented pins"),
    _pin(key="pin.friction.spacing_mm", value=4.0, low=3.0, high=5.0, meaning="least spacing of friction pins"),
    _pin(
        key="pin.threaded.spacing_small_mm", value=3.0, low=3.0, high=5.0, meaning="least spacing of small self-threading pins"
    ),
    _pin(
        key="pin.threaded.spacing_large_mm", value=5.0, low=3.0, high=5.0, meaning="least spacing of large self-threading pins"
    ),
    _gauge(key="pin.diameter.smallest_mm", value=0.38, low=0.38, high=0.39, meaning="pin of 0.015 inch"),
    _gauge(key="pin.diameter.small_mm", value=0.48, low=0.48, high=0.49, meaning="pin of 0.019 inch"),
    _gauge(key="pin.diameter.large_mm", value=0.61, low=0.60, high=0.61, meaning="pin of 0.024 inch"),
    _gauge(key="pin.diameter.largest_mm", value=0.79, low=0.78, high=0.79, meaning="pin of 0.031 inch"),
)

CONSTANTS: tuple[Constant, ...] = (*_POSTS, *_PINS)
