"""Numbers of partial coverage: a bonded restoration over the cusps that ends above the gum and asks for no ferrule."""

from functools import partial

from collum.evidence.registry import Constant

_coverage = partial(Constant, checked="2026-11-30", used_for="partial coverage of a crown, bonded", population="any")
_taught = partial(_coverage, source="clinical_teaching", status="memory", kind="convention")
_choice = partial(_coverage, source="collum_decision", status="choice", kind="judgement")

CONSTANTS: tuple[Constant, ...] = (
    _taught(
        key="plan.coverage.enamel_share",
        value=0.75,
        low=0.75,
        high=1.0,
        unit="1",
        meaning="share of the margin that has to be on enamel",
    ),
    _choice(
        key="plan.coverage.walls_share",
        value=0.5,
        low=0.5,
        high=0.9,
        unit="1",
        meaning="share of the way round on which sound walls have to stand above the margin",
    ),
    _choice(
        key="plan.coverage.wall_height_mm",
        value=1.0,
        low=1.0,
        high=3.0,
        unit="mm",
        meaning="least height of what stands above the margin under the cover: a wall, and the preparation at every site",
    ),
    _choice(
        key="plan.coverage.above_gum_mm",
        value=0.5,
        low=0.0,
        high=1.0,
        unit="mm",
        meaning="least height of the margin above the gum",
    ),
    _taught(
        key="plan.coverage.cusp_vital_mm",
        value=2.0,
        low=1.5,
        high=3.0,
        unit="mm",
        meaning="thickness from which a cusp of a vital tooth is left without cover",
    ),
    _taught(
        key="plan.coverage.cusp_root_filled_mm",
        value=3.0,
        low=2.5,
        high=4.0,
        unit="mm",
        meaning="thickness from which a cusp of a root-filled tooth is left without cover",
    ),
    _taught(
        key="plan.coverage.ceramic_mm",
        value=1.5,
        low=1.5,
        high=2.0,
        unit="mm",
        meaning="thickness of bonded ceramic over a cusp",
    ),
    _taught(
        key="plan.coverage.metal_mm",
        value=1.0,
        low=1.0,
        high=1.5,
        unit="mm",
        meaning="thickness of bonded metal over a cusp",
    ),
    _choice(
        key="plan.price.visits.partial_coverage",
        value=2.0,
        low=1.0,
        high=20.0,
        unit="1",
        used_for="what a procedure costs",
        meaning="visits of partial coverage: prepared in one, bonded in the next",
    ),
)
