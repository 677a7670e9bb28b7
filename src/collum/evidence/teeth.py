"""Handbook dimensions of the permanent teeth: carving averages, not population means; a measured value always wins.

One row a kind of tooth, from the table of measurements of Wheeler's textbook. The letters of `_IN_THE_BOOK` name the
columns that were seen in a page of the book, those of `_IN_A_COPY` the ones seen only in a page about it; every other column is
from memory.
Root trunks and root grooves are from studies of extracted teeth.
"""

from functools import partial

from collum.evidence.registry import Constant, Status

_CHECKED = "2026-11-25"

# column: letter of the column, meaning, what it is used for
_COLUMNS: dict[str, tuple[str, str, str]] = {
    "crown_length_mm": ("c", "length of the crown", "occlusal edge where none was read"),
    "root_length_mm": (
        "r",
        "length of the root, the longest where there are several",
        "crown-to-root ratio where no film was read",
    ),
    "md_crown_mm": ("m", "mesiodistal diameter of the crown", "width of the preparation where none was measured"),
    "md_cervix_mm": ("n", "mesiodistal diameter of the neck", "shape of the neck"),
    "bl_crown_mm": ("b", "facial-oral diameter of the crown", "width of the preparation where none was measured"),
    "bl_cervix_mm": ("k", "facial-oral diameter of the neck", "shape of the neck"),
    "curvature_mesial_mm": ("M", "rise of the cervical line on the mesial side", "relief of the edge and of the cervical line"),
    "curvature_distal_mm": ("D", "rise of the cervical line on the distal side", "relief of the edge and of the cervical line"),
}
_NAMES = (
    "central incisor",
    "lateral incisor",
    "canine",
    "first premolar",
    "second premolar",
    "first molar",
    "second molar",
    "third molar",
)
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
_LENGTHS = "cr"
_IN_THE_BOOK: dict[str, str] = {
    "upper1": "crmnbMD",
    "upper2": "crmnbMD",
    "upper5": "crmnb",
    "upper6": "crmnb",
    "lower6": "",
    "lower7": "",
    "lower8": "",
}
_IN_A_COPY: dict[str, str] = {"upper6": "kMD"}
_SPREAD = 0.3  # real teeth differ by some 10 to 15 % (one standard deviation, from memory): twice that either way
_LEAST_RANGE_MM = 1.0  # a curvature of nought has a range too


def _dimension(kind: str, column: str, mm: float) -> Constant:
    letter, meaning, used_for = _COLUMNS[column]
    jaw, position = kind[:-1], int(kind[-1])
    return Constant(
        key=f"tooth.{kind}.{column}",
        value=mm,
        low=round(mm * (1 - _SPREAD), 2),
        high=max(round(mm * (1 + _SPREAD), 2), _LEAST_RANGE_MM),
        unit="mm",
        meaning=f"{meaning}, {jaw} {_NAMES[position - 1]}",
        source="wheeler",
        status=_status(kind, letter),
        kind="convention",
        population="carving averages of a textbook; the range is ours, twice the usual spread",
        checked=_CHECKED,
        used_for=used_for,
    )


def _status(kind: str, letter: str) -> Status:
    if letter in _IN_THE_BOOK.get(kind, _LENGTHS):
        return "read"
    return "read_second_hand" if letter in _IN_A_COPY.get(kind, "") else "memory"


_root = partial(Constant, checked=_CHECKED, unit="mm", kind="measured")
_trunk = partial(_root, used_for="furcation rule")
_lower_trunk = partial(_trunk, source="prefurcation_lower_molar", status="read", population="96 extracted lower first molars")
_upper_trunk = partial(_trunk, source="gher_dunlap1985", status="read", population="20 extracted upper first molars")
_trunk_from_memory = partial(_trunk, source="common_practice", status="memory", population="not known")
_groove = partial(
    _root,
    used_for="information: concavity of the root under a finish line",
    source="kerns1999",
    status="read",
    population="extracted teeth; value is the nearest mean of a surface, high the farthest",
)
_buccal_root = partial(
    _root,
    kind="convention",
    used_for="crown-to-root ratio where no film was read",
    source="wheeler",
    population="carving averages of a textbook",
)

_ROOTS: tuple[Constant, ...] = (
    _buccal_root(
        key="tooth.upper6.facial_root_length_mm",
        value=12.0,
        low=8.4,
        high=15.6,
        meaning="length of the facial roots, upper first molar (one page gives 12.5)",
        status="read",
    ),
    _buccal_root(
        key="tooth.upper7.facial_root_length_mm",
        value=11.0,
        low=7.7,
        high=14.3,
        meaning="length of the facial roots, upper second molar",
        status="read",
    ),
    _lower_trunk(
        key="tooth.lower6.trunk_facial_mm",
        value=3.07,
        low=2.25,
        high=3.89,
        meaning="cemento-enamel junction to furcation, facial, lower first molar",
    ),
    _lower_trunk(
        key="tooth.lower6.trunk_oral_mm",
        value=3.54,
        low=2.81,
        high=4.27,
        meaning="cemento-enamel junction to furcation, oral, lower first molar",
    ),
    _upper_trunk(
        key="tooth.upper6.trunk_mesial_mm",
        value=3.6,
        low=2.5,
        high=5.0,
        meaning="cemento-enamel junction to furcation, mesial, upper first molar; the range is ours",
    ),
    _upper_trunk(
        key="tooth.upper6.trunk_facial_mm",
        value=4.2,
        low=3.0,
        high=5.5,
        meaning="cemento-enamel junction to furcation, facial, upper first molar; the range is ours",
    ),
    _upper_trunk(
        key="tooth.upper6.trunk_distal_mm",
        value=4.8,
        low=3.5,
        high=6.0,
        meaning="cemento-enamel junction to furcation, distal, upper first molar; the range is ours",
    ),
    _trunk_from_memory(
        key="tooth.upper4.trunk_mm",
        value=7.5,
        low=7.0,
        high=8.0,
        meaning="cemento-enamel junction to furcation, upper first premolar with two roots",
    ),
    _trunk_from_memory(
        key="tooth.upper7.trunk_extra_mm",
        value=0.75,
        low=0.5,
        high=1.0,
        meaning="by how much the trunk of the upper second molar is longer than that of the first",
    ),
    _trunk_from_memory(
        key="tooth.lower7.trunk_mm",
        value=3.75,
        low=3.5,
        high=4.0,
        meaning="cemento-enamel junction to furcation, lower second molar",
    ),
    _groove(
        key="tooth.upper4.groove_mm", value=1.71, low=1.71, high=1.73, meaning="junction to root groove, upper first premolar"
    ),
    _groove(
        key="tooth.upper6.groove_mm", value=1.35, low=1.35, high=1.65, meaning="junction to root groove, upper first molar"
    ),
    _groove(
        key="tooth.upper7.groove_mm", value=1.49, low=1.49, high=1.89, meaning="junction to root groove, upper second molar"
    ),
    _groove(
        key="tooth.lower6.groove_mm", value=1.16, low=1.16, high=1.22, meaning="junction to root groove, lower first molar"
    ),
    _groove(
        key="tooth.lower7.groove_mm", value=1.53, low=1.53, high=1.76, meaning="junction to root groove, lower second molar"
    ),
)

CONSTANTS: tuple[Constant, ...] = (
    *(_dimension(kind, column, mm) for kind, row in _TABLE.items() for column, mm in zip(_COLUMNS, row, strict=True)),
    *_ROOTS,
)
