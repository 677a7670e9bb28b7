"""The kinds of reading, one row each. Form, schema, checks, draws, papers and guide iterate over the rows.

A new kind is one name and one row here, its ranges `case.range.<id>_mm` and `case.soft.<id>_mm` in `evidence/ranges.py`, its
words in `wording/en/readings.toml`, and, where it has an error of its own, that error as a field of `evidence/handed.py`.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

ReadingKind = Literal[
    "probing_depth",
    "bone_sounding",
    "crown_height",
    "sound_height",
    "cej_height",
    "keratinised_width",
    "tissue_thickness",
    "wall_thickness",
]
Measure = Literal["depth", "height", "width", "thickness"]
NOT_APPLICABLE = "not applicable"
STEP_LEFT_OUT_MM = 1.0  # what a kind was read to where the case states no step


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingRow:
    """One kind of reading. [mm]

    `measures` fixes the sign: heights are positive coronally; depths and widths positive apically, thicknesses outward.
    `frame`: what it counts from. `error_key`: the registry's error of one reading; None where nothing is drawn from it.
    `line`: the level that it is drawn as. `may_not_apply`: "not applicable" may be said of it, on the palate.
    """

    id: ReadingKind
    measures: Measure
    frame: Literal["margin", "none"] = "margin"
    error_key: str | None = None
    line: str | None = None
    step_mm: float = STEP_LEFT_OUT_MM
    may_not_apply: bool = False

    @property
    def range_key(self) -> str:
        """Key of the range that a case file is held to."""
        return f"case.range.{self.id}_mm"

    @property
    def usual_key(self) -> str:
        """Key of the range outside of which a reading is asked for again."""
        return f"case.soft.{self.id}_mm"

    @property
    def height_sign(self) -> int:
        """What the reading is multiplied by to be a height above the margin."""
        return 1 if self.measures == "height" else -1


# In the order of the entry form and of the papers.
READING_ROWS: tuple[ReadingRow, ...] = (
    ReadingRow(id="probing_depth", measures="depth", error_key="neck.error.probing_mm", line="probe_tip"),
    ReadingRow(id="bone_sounding", measures="depth", error_key="neck.error.sounding_mm", line="crest"),
    ReadingRow(id="crown_height", measures="height", error_key="neck.error.hard_edge_mm", line="occlusal_edge"),
    ReadingRow(id="sound_height", measures="height", error_key="neck.error.hard_edge_mm", line="sound_edge"),
    ReadingRow(id="cej_height", measures="height", error_key="neck.error.cej_mm", line="cej"),
    ReadingRow(
        id="keratinised_width",
        measures="width",
        error_key="neck.error.mucogingival_mm",
        line="mucogingival_junction",
        may_not_apply=True,
    ),
    ReadingRow(id="tissue_thickness", measures="thickness", frame="none"),
    ReadingRow(id="wall_thickness", measures="thickness", frame="none"),
)
ROW_OF: Mapping[ReadingKind, ReadingRow] = {row.id: row for row in READING_ROWS}
READING_KINDS: tuple[ReadingKind, ...] = tuple(ROW_OF)
