"""Handbook dimensions of the permanent teeth: carving averages, not population means; a measured value always wins.

One row a kind of tooth: crown length, root length, mesiodistal and oral-facial diameter of crown and neck, curvature of the cervical line
mesially and distally. `_READ` names the columns seen in a stored copy of the table; the others are from memory.
"""

from collum.evidence.registry import Constant, Status

COLUMNS = (
    "crown_length_mm",
    "root_length_mm",
    "md_crown_mm",
    "md_cervix_mm",
    "bl_crown_mm",
    "bl_cervix_mm",
    "curvature_mesial_mm",
    "curvature_distal_mm",
)
_MEANING = {
    "crown_length_mm": "length of the crown",
    "root_length_mm": "length of the root (the longest where there are several)",
    "md_crown_mm": "mesiodistal diameter of the crown",
    "md_cervix_mm": "mesiodistal diameter of the neck",
    "bl_crown_mm": "facial-oral diameter of the crown",
    "bl_cervix_mm": "facial-oral diameter of the neck",
    "curvature_mesial_mm": "rise of the cervical line on the mesial side",
    "curvature_distal_mm": "rise of the cervical line on the distal side",
}
_NAMES = ("central incisor", "lateral incisor", "canine", "first premolar", "second premolar", "first molar", "second molar", "third molar")
_TABLE: dict[str, tuple[float, ...]] = {
    "upper1": (10.5, 13.0, 8.5, 7.0, 7.0, 6.0, 3.5, 2.5),
    "upper2": (9.0, 13.0, 6.5, 5.0, 6.0, 5.0, 3.0, 2.0),
    "upper3": (10.0, 17.0, 7.5, 5.5, 8.0, 7.0, 2.5, 1.5),
    "upper4": (8.5, 14.0, 7.0, 5.0, 9.0, 8.0, 1.0, 0.0),
    "upper5": (8.5, 14.0, 7.0, 5.0, 9.0, 8.0, 1.0, 0.0),
    "upper6": (7.5, 13.0, 10.0, 8.0, 11.0, 10.0, 1.0, 0.0),
    "upper7": (7.0, 12.0, 9.0, 7.0, 11.0, 10.0, 1.0, 0.0),
    "upper8": (6.5, 11.0, 8.5, 6.5, 10.0, 9.5, 1.0, 0.0),
    "lower1": (9.0, 12.5, 5.0, 3.5, 6.0, 5.3, 3.0, 2.0),
    "lower2": (9.5, 14.0, 5.5, 4.0, 6.5, 5.8, 3.0, 2.0),
    "lower3": (11.0, 16.0, 7.0, 5.5, 7.5, 7.0, 2.5, 1.0),
    "lower4": (8.5, 14.0, 7.0, 5.0, 7.5, 6.5, 1.0, 0.0),
    "lower5": (8.0, 14.5, 7.0, 5.0, 8.0, 7.0, 1.0, 0.0),
    "lower6": (7.5, 14.0, 11.0, 9.0, 10.5, 9.0, 1.0, 0.0),
    "lower7": (7.0, 13.0, 10.5, 8.0, 10.0, 9.0, 1.0, 0.0),
    "lower8": (7.0, 11.0, 10.0, 7.5, 9.5, 9.0, 1.0, 0.0),
}
_LENGTHS = {"crown_length_mm", "root_length_mm"}
_READ: dict[str, set[str]] = {
    "upper1": set(COLUMNS) - {"bl_cervix_mm"},
    "upper2": set(COLUMNS) - {"bl_cervix_mm"},
    "upper5": set(COLUMNS) - {"bl_cervix_mm", "curvature_mesial_mm", "curvature_distal_mm"},
    "upper6": set(COLUMNS),
    "lower6": set(),
    "lower7": set(),
    "lower8": set(),
}
_SPREAD = 0.3  # the range shown: real teeth differ by some 10 to 15 % (one standard deviation), twice that either way


def _constants() -> tuple[Constant, ...]:
    made = []
    for kind, row in _TABLE.items():
        jaw, number = kind[:-1], int(kind[-1])
        for column, mm in zip(COLUMNS, row, strict=True):
            status: Status = "read" if column in _READ.get(kind, _LENGTHS) else "memory"
            made.append(
                Constant(
                    key=f"tooth.{kind}.{column}",
                    value=mm,
                    low=mm * (1 - _SPREAD),
                    high=max(mm * (1 + _SPREAD), 1.0),
                    unit="mm",
                    meaning=f"{_MEANING[column]}, {jaw} {_NAMES[number - 1]}",
                    source="ash_nelson",
                    status=status,
                    kind="convention",
                    population="carving averages of a handbook",
                    checked="2026-11-25",
                    used_for="fallback where nothing was measured; shape of the neck",
                )
            )
    return tuple(made)


CONSTANTS: tuple[Constant, ...] = _constants()
