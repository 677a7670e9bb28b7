"""Posts, pins and materials as they leave the program; a part of `collum-restoration/2`."""

from typing import Literal

from collum.core.crown.laboratory import Hazard, Material
from collum.core.post.post import Change, Reason, RootPlace, RuleName, Status
from collum.wire.form import SentenceDocument, Wire

Enough = Literal["enough", "short", "not assessed"]


class PostRuleDocument(Wire):
    rule: RuleName
    at_least: bool
    length_mm: float | None
    evidence: str
    status: str


class OpenerDocument(Wire):
    change: Change
    amount_mm: float | None
    low_mm: float
    high_mm: float
    said: SentenceDocument


class ClashDocument(Wire):
    least: RuleName
    most: RuleName
    gap_mm: float
    said: SentenceDocument


class PostDiameterDocument(Wire):
    most_mm: float
    by: Literal["table", "third_of_root", "wall"]
    width_at_tip_mm: float | None
    width_from: Literal["measured at the tip", "measured at the neck", "handbook", "not known"]
    dentine_left_mm: float | None
    assessed: bool


class PostDocument(Wire):
    """One root. Lengths count from the finish line; `finish_below_cej_mm` says where that lies on the root."""

    root: RootPlace
    status: Status
    reason: Reason | None
    low_mm: float | None
    high_mm: float | None
    rules: list[PostRuleDocument]
    clash: ClashDocument | None
    openers: list[OpenerDocument]
    root_mm: float | None
    root_from_handbook: bool
    finish_below_cej_mm: float
    probability: float | None
    diameter: PostDiameterDocument | None
    said: list[SentenceDocument]


class PinDocument(Wire):
    """One pin, seen along the path: x towards facial, y towards mesial of the axis. [mm]"""

    site: str
    x_mm: float
    y_mm: float
    surface: Enough
    pulp: Enough
    spacing: Enough


class PinsDocument(Wire):
    """Pins of one size, one for each missing wall, threaded."""

    diameter_mm: float
    state: Enough
    in_dentine_mm: float
    in_material_mm: float
    core_mm: float
    pins: list[PinDocument]


class MaterialDocument(Wire):
    """What one class of material takes: `across` is what two finish lines leave, `wall` that less the pulp, halved."""

    material: Material
    axial_mm: float
    occlusal_mm: float
    finish_line_mm: float
    height_mm: float | None
    height_short_mm: float | None
    across_facial_oral_mm: float
    across_mesiodistal_mm: float
    wall_facial_oral_mm: float | None
    wall_mesiodistal_mm: float | None
    hazard: Hazard
    evidence: list[str]
    status: list[str]
