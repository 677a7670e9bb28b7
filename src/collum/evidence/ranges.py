"""Ranges of what may be entered: `low` and `high` of each record are refused beyond, `value` is a usual amount.

Soft ranges, outside of which the entry is only asked again, have keys that begin with `case.soft.`.
"""

from functools import partial

from collum.evidence.registry import Constant

_range = partial(
    Constant,
    source="collum_decision",
    status="choice",
    kind="judgement",
    population="any adult tooth",
    checked="2026-11-25",
    used_for="checks at entry",
    unit="mm",
)

CONSTANTS: tuple[Constant, ...] = (
    _range(key="case.range.probing_depth_mm", value=2, low=0, high=15, meaning="margin to the probe tip"),
    _range(key="case.range.bone_sounding_mm", value=4, low=0, high=20, meaning="margin to the crest of bone"),
    _range(key="case.range.crown_height_mm", value=6, low=-12, high=15, meaning="margin to the occlusal edge"),
    _range(
        key="case.range.sound_height_mm",
        value=1,
        low=-12,
        high=15,
        meaning="margin to where sound tooth begins, negative under the gum",
    ),
    _range(
        key="case.range.cej_height_mm",
        value=-1,
        low=-12,
        high=12,
        meaning="margin to the cemento-enamel junction, negative under the gum",
    ),
    _range(key="case.range.keratinised_width_mm", value=4, low=0, high=15, meaning="margin to the mucogingival junction"),
    _range(key="case.range.tissue_thickness_mm", value=1.1, low=0.2, high=5, meaning="through the tissue"),
    _range(key="case.range.wall_thickness_mm", value=2, low=0, high=6, meaning="through the dentine wall"),
    _range(key="case.range.error_mm", value=0.4, low=0.05, high=3, meaning="standard deviation of one reading"),
    _range(key="case.range.step_mm", value=0.5, low=0.1, high=2, meaning="reading step of the probe"),
    _range(key="case.range.length_mm", value=13, low=4, high=30, meaning="length of a root"),
    _range(key="case.range.trunk_mm", value=4, low=0, high=12, meaning="length of a root trunk"),
    _range(key="case.range.reduction_mm", value=1.5, low=0, high=4, meaning="reduction of a preparation"),
    _range(key="case.range.finish_mm", value=0.5, low=0, high=5, meaning="place of the finish line from the margin"),
    _range(key="case.range.planned_edge_mm", value=0, low=-4, high=6, meaning="planned edge above today's edge"),
    _range(
        key="case.range.convergence_deg", value=16, low=0, high=70, unit="deg", meaning="convergence of both walls together"
    ),
    _range(key="case.range.connector_mm", value=3, low=0.5, high=15, meaning="height or width of a connector"),
    _range(key="case.range.room_mm", value=6, low=0, high=20, meaning="room between ridge and opposing tooth"),
    _range(key="case.range.ridge_tissue_mm", value=3, low=0, high=15, meaning="thickness of tissue over a ridge"),
    _range(key="case.range.held_mm", value=-1, low=-12, high=6, meaning="held height from the margin"),
    _range(key="case.range.percent", value=15, low=0, high=100, unit="%", meaning="plaque or bleeding score"),
    _range(key="case.range.months", value=3, low=0, high=600, unit="1", meaning="months for which a canal was open to saliva"),
    _range(key="case.range.lesion_mm", value=4, low=0, high=30, meaning="width of a lesion at the root end on the film"),
    _range(key="case.range.confidence", value=0.9, low=0.5, high=0.999, unit="1", meaning="confidence asked of a requirement"),
    _range(key="case.range.limit_mm", value=2, low=0, high=10, meaning="limit of a requirement"),
    _range(key="case.soft.probing_depth_mm", value=2, low=1, high=6, meaning="probing depth, usual"),
    _range(key="case.soft.bone_sounding_mm", value=4, low=2, high=8, meaning="bone sounding, usual"),
    _range(key="case.soft.crown_height_mm", value=6, low=1, high=12, meaning="crown height, usual"),
    _range(key="case.soft.sound_height_mm", value=1, low=-4, high=8, meaning="sound height, usual"),
    _range(key="case.soft.cej_height_mm", value=-1, low=-5, high=5, meaning="height of the cemento-enamel junction, usual"),
    _range(key="case.soft.keratinised_width_mm", value=4, low=1, high=9, meaning="keratinised width, usual"),
    _range(key="case.soft.tissue_thickness_mm", value=1.1, low=0.5, high=2, meaning="tissue thickness, usual"),
    _range(key="case.soft.wall_thickness_mm", value=2, low=0.5, high=4, meaning="wall thickness, usual"),
    _range(
        key="case.soft.repeats_apart_mm", value=0.5, low=0, high=1.5, meaning="how far repeats of one reading lie apart, usual"
    ),
    _range(
        key="case.step_tolerance",
        value=1e-6,
        low=0,
        high=1e-3,
        unit="1",
        meaning="largest part of a step that is taken as rounding when a reading is compared with its step",
    ),
)
