"""Numbers of the parts of a bridge: connectors, room and tissue for a pontic, and the changes of a preparation to try."""

from functools import partial

from collum.evidence.registry import Constant

_checked = partial(Constant, checked="2026-11-25")
_connector = partial(_checked, kind="guideline", used_for="least connector of a material")
_remembered = partial(_connector, source="common_practice", status="memory", population="not known")
_cards = partial(_connector, source="bridge_cards", status="read_second_hand", population="teaching cards")
_ours = partial(_connector, source="collum_decision", status="choice", population="any", kind="judgement")
_room = partial(
    _checked,
    unit="mm",
    source="common_practice",
    status="memory",
    kind="guideline",
    population="not known; below the value short, above the upper end enough",
    used_for="room between ridge and opposing tooth for a pontic",
)
_bed = partial(_checked, unit="mm", kind="guideline", used_for="bed of a pontic in the tissue over the ridge")
_ridge = partial(
    _checked,
    unit="1",
    source="pontic_cards",
    status="read_second_hand",
    kind="measured",
    population="ridges of edentulous gaps, as reported on teaching cards",
    used_for="how common a class of ridge is",
)
_change = partial(
    _checked,
    source="collum_decision",
    status="choice",
    kind="judgement",
    population="any",
    used_for="what a change of the preparation would buy",
)

CONSTANTS: tuple[Constant, ...] = (
    _cards(
        key="bridge.connector.metal_ceramic.height_mm",
        value=3.0,
        low=3.0,
        high=4.0,
        unit="mm",
        meaning="least height of a connector, metal-ceramic",
    ),
    _remembered(
        key="bridge.connector.metal_ceramic.area_mm2",
        value=9.0,
        low=6.0,
        high=9.0,
        unit="mm2",
        meaning="least area of a connector, metal-ceramic",
    ),
    _ours(
        key="bridge.connector.metal.height_mm",
        value=3.0,
        low=2.5,
        high=4.0,
        unit="mm",
        meaning="least height of a connector, metal: taken as for metal-ceramic",
    ),
    _ours(
        key="bridge.connector.metal.area_mm2",
        value=9.0,
        low=6.0,
        high=9.0,
        unit="mm2",
        meaning="least area of a connector, metal: taken as for metal-ceramic",
    ),
    _cards(
        key="bridge.connector.lithium_disilicate.height_mm",
        value=4.0,
        low=4.0,
        high=4.0,
        unit="mm",
        meaning="least height of a connector, ceramic",
    ),
    _remembered(
        key="bridge.connector.lithium_disilicate.area_mm2",
        value=16.0,
        low=12.0,
        high=16.0,
        unit="mm2",
        meaning="least area of a connector, lithium disilicate, one pontic",
    ),
    _remembered(
        key="bridge.connector.lithium_disilicate.hindmost",
        value=5.0,
        low=5.0,
        high=5.0,
        unit="1",
        meaning="hindmost tooth of a bridge of lithium disilicate, counted from the midline: the second premolar",
    ),
    _remembered(
        key="bridge.connector.lithium_disilicate.pontics_most",
        value=1.0,
        low=1.0,
        high=1.0,
        unit="1",
        meaning="pontics in a row, lithium disilicate",
    ),
    _cards(
        key="bridge.connector.monolithic_zirconia.height_mm",
        value=4.0,
        low=4.0,
        high=4.0,
        unit="mm",
        meaning="least height of a connector, ceramic",
    ),
    _remembered(
        key="bridge.connector.monolithic_zirconia.area_front_mm2",
        value=7.0,
        low=7.0,
        high=9.0,
        unit="mm2",
        meaning="least area of a connector, zirconia, front teeth, one pontic",
    ),
    _remembered(
        key="bridge.connector.monolithic_zirconia.area_mm2",
        value=9.0,
        low=9.0,
        high=12.0,
        unit="mm2",
        meaning="least area of a connector, zirconia, back teeth, one pontic",
    ),
    _remembered(
        key="bridge.connector.monolithic_zirconia.area_two_pontics_mm2",
        value=12.0,
        low=12.0,
        high=16.0,
        unit="mm2",
        meaning="least area of a connector, zirconia, two pontics in a row",
    ),
    _remembered(
        key="bridge.connector.monolithic_zirconia.area_more_pontics_mm2",
        value=16.0,
        low=16.0,
        high=20.0,
        unit="mm2",
        meaning="least area of a connector, zirconia, more than two pontics in a row",
    ),
    _room(key="pontic.room.metal_mm", value=3.0, low=3.0, high=4.0, meaning="vertical room for a pontic of metal"),
    _room(key="pontic.room.metal_ceramic_mm", value=5.0, low=5.0, high=6.0, meaning="vertical room for a metal-ceramic pontic"),
    _room(
        key="pontic.room.lithium_disilicate_mm",
        value=5.0,
        low=5.0,
        high=6.0,
        meaning="vertical room for a pontic of lithium disilicate",
    ),
    _room(
        key="pontic.room.monolithic_zirconia_mm", value=4.0, low=4.0, high=5.0, meaning="vertical room for a pontic of zirconia"
    ),
    _room(
        key="pontic.hygienic.thickness_mm",
        value=3.0,
        low=3.0,
        high=3.5,
        meaning="least thickness of a pontic that stands clear of the ridge",
    ),
    _bed(
        key="pontic.hygienic.gap_mm",
        value=2.0,
        low=2.0,
        high=3.0,
        meaning="gap between the ridge and a pontic that stands clear of it; back teeth only",
        source="pontic_cards",
        status="read_second_hand",
        population="teaching cards",
    ),
    _bed(
        key="pontic.bed.tissue_left_mm",
        value=1.0,
        low=1.0,
        high=1.5,
        meaning="tissue to leave between the bed of a pontic and bone",
        source="ovate_pontic_opinion",
        status="read",
        population="opinion of a clinician",
    ),
    _bed(
        key="pontic.bed.concavity_mm",
        value=1.0,
        low=0.5,
        high=1.5,
        meaning="depth of the hollow a pontic wants",
        source="ridge_contouring_page",
        status="read",
        population="a teaching page",
    ),
    _ridge(key="pontic.ridge.share.none", value=0.09, low=0.0, high=1.0, meaning="share of ridges without loss"),
    _ridge(
        key="pontic.ridge.share.width", value=0.32, low=0.0, high=1.0, meaning="share of ridges with loss of width (class I)"
    ),
    _ridge(
        key="pontic.ridge.share.height", value=0.03, low=0.0, high=1.0, meaning="share of ridges with loss of height (class II)"
    ),
    _ridge(key="pontic.ridge.share.both", value=0.56, low=0.0, high=1.0, meaning="share of ridges with both (class III)"),
    _change(
        key="preparation.groove.depth_mm",
        value=1.0,
        low=0.5,
        high=1.5,
        unit="mm",
        meaning="depth of a groove at the finish line",
    ),
    _change(key="preparation.groove.width_mm", value=1.2, low=1.0, high=1.5, unit="mm", meaning="width of a groove"),
    _change(
        key="preparation.groove.taper_deg",
        value=2.0,
        low=0.0,
        high=5.0,
        unit="deg",
        meaning="taper of the floor of a groove or box",
    ),
    _change(
        key="preparation.box.depth_mm", value=1.5, low=1.0, high=2.0, unit="mm", meaning="depth of a box at the finish line"
    ),
    _change(key="preparation.box.width_mm", value=3.0, low=2.0, high=4.0, unit="mm", meaning="width of a box"),
    _change(
        key="preparation.step.convergence_deg",
        value=6.0,
        low=1.0,
        high=10.0,
        unit="deg",
        meaning="how much less convergence is tried",
    ),
    _change(key="preparation.step.height_mm", value=1.0, low=0.5, high=2.0, unit="mm", meaning="how much more height is tried"),
)
