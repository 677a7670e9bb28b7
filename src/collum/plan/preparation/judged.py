"""The surface of one preparation judged: path, measures, what resists, and a verdict for each question.

A file says neither its unit nor which side of the tooth is which. The unit is the one that is asked for, held against what a
preparation can measure; angles count from the facial side only where that was told, else from an axis of the file.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from collum.core.crown.form import HALF, apex_height_mm
from collum.core.crown.guidance import Band, convergence_band, least_height_mm
from collum.core.crown.remedies import Remedies, remedies
from collum.core.preparation.facet_resistance import Resistance, resistance
from collum.core.preparation.gains import Gain, gains
from collum.core.preparation.made import PreparationDesign
from collum.core.preparation.measured import Measured, measured
from collum.core.preparation.placement import Placement, placed
from collum.core.ring import QUARTER_DEG, STATIONS, STATIONS_DEG, Floats
from collum.core.surface.surface_error import SurfaceError
from collum.evidence import value
from collum.plan.sentence import Parameter
from collum.vocabulary import Verdict

Unit = Literal["mm", "um", "cm", "in"]
PartId = Literal["placement", "resistance", "preparation_height", "convergence"]

UNIT_MM: Mapping[Unit, float] = {"mm": 1, "um": 1 / 1000, "cm": 10, "in": 254 / 10}
_RIGHT_HANDED = (2, 4)  # quadrants where facial, mesial and coronal turn like x, y and z
_MOLAR_FROM = 6
_WIDEST_DEG = 90


class PreparationRefused(ValueError):
    """The surface cannot be judged. `key` of the reason under `scan.fault`, with the parameters of its sentences."""

    def __init__(self, key: str, where: str = "surface", **parameters: Parameter) -> None:
        super().__init__(key)
        self.key = key
        self.where = where
        self.parameters: Mapping[str, Parameter] = parameters


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """What was told beside the file. `path` and `facial` (3,) in the coordinates of the file; `tooth` by ISO 3950.

    `finish_line` (P, 3), in the unit of the file: a closed line on a surface that goes on beyond it.
    """

    unit: Unit = "mm"
    path: tuple[float, float, float] | None = None
    facial: tuple[float, float, float] | None = None
    tooth: int | None = None
    finish_line: tuple[tuple[float, float, float], ...] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """The answer. `share` (36,) of the wall opposite to each direction that resists, 0 where there is none.

    `height_mean_mm`, `convergence_deg` over the directions that meet walls. `gains` on an even stump of the same measures;
    empty where none can be made. `remedies` in the section of the weakest wall; None where the closed form does not hold there.
    """

    wanted: Wanted
    extent_mm: Floats
    placement: Placement
    facial: Floats
    mesial: Floats
    measured: Measured
    resistance: Resistance
    share: Floats
    height_mean_mm: float
    convergence_deg: float
    band: Band
    verdicts: Mapping[PartId, Verdict]
    remedies: Remedies | None
    gains: tuple[Gain, ...]

    @property
    def weakest(self) -> int:
        """Index of the direction in which the crown tips most easily."""
        return int(np.argmin(self.share))

    @property
    def lowest(self) -> int:
        """Index of the direction with the lowest wall."""
        return int(np.nanargmin(self.measured.height_mm))

    @property
    def molar(self) -> bool | None:
        """Whether the tooth is a molar; None where it was not told."""
        return None if self.wanted.tooth is None else self.wanted.tooth % 10 >= _MOLAR_FROM


def judge_preparation(vertices: Floats, faces: NDArray[np.int64], wanted: Wanted) -> Judged:
    """Return the answer on (V, 3) vertices in the unit that is wanted and (F, 3) facets. Raises PreparationRefused."""
    scale = UNIT_MM[wanted.unit]
    vertices_mm = vertices * scale
    extent = np.ptp(vertices_mm, axis=0)
    if wanted.finish_line is None:
        _check_extent(extent, wanted.unit)
    placement = _placed(vertices_mm, faces, wanted, scale)
    facial, mesial = _frame(placement.surface.path, wanted)
    found = measured(placement.surface, facial, mesial)
    if np.isnan(found.convergence_deg).all():
        raise PreparationRefused("no_walls")
    resisting = resistance(placement.surface, facial, mesial, STATIONS_DEG)
    share = np.nan_to_num(resisting.share_in_section)
    convergence = float(np.nanmean(found.convergence_deg))
    remedy = _remedies(found, int(np.argmin(share)))
    band = convergence_band(convergence)
    assert band is not None
    return Judged(
        wanted=wanted,
        extent_mm=extent,
        placement=placement,
        facial=facial,
        mesial=mesial,
        measured=found,
        resistance=resisting,
        share=share,
        height_mean_mm=float(np.nanmean(found.height_mm)),
        convergence_deg=convergence,
        band=band,
        verdicts={
            "placement": "kept" if placement.undercut_mm2 == 0 else "in doubt",
            "resistance": _resists(share, remedy),
            "preparation_height": _height(found, wanted.tooth),
            "convergence": "kept" if band == "in" else "in doubt" if band == "under" else "short",
        },
        remedies=remedy,
        gains=_gains(found, wanted),
    )


def _check_extent(extent_mm: Floats, unit: Unit) -> None:
    """Refuse what cannot be one tooth: another unit, a whole arch, or an empty corner of one."""
    greatest = float(extent_mm.max())
    least, most = value("scan.preparation.least_extent_mm"), value("scan.preparation.most_extent_mm")
    if not least <= greatest <= most:
        fitting = [name for name, mm in UNIT_MM.items() if least <= greatest / UNIT_MM[unit] * mm <= most]
        raise PreparationRefused(
            "extent_other_unit" if fitting else "extent",
            extent_mm=float(f"{greatest:.3g}"),
            unit=unit,
            least_mm=least,
            most_mm=most,
            units=" / ".join(fitting),
        )


def _placed(vertices_mm: Floats, faces: NDArray[np.int64], wanted: Wanted, scale: float) -> Placement:
    if wanted.finish_line is not None and wanted.path is None:
        raise PreparationRefused("line_needs_path", "axis")
    line = None if wanted.finish_line is None else np.asarray(wanted.finish_line) * scale
    try:
        return placed(vertices_mm, faces, wanted.path, line, weld_within_mm=value("scan.weld_mm"))
    except SurfaceError as error:
        raise PreparationRefused(error.fault, count=error.count) from None


def _frame(path: Floats, wanted: Wanted) -> tuple[Floats, Floats]:
    """Return unit vectors towards 0 and 90 degrees. Without a facial side 0 is the axis of the file most across the path."""
    towards = np.eye(3)[int(np.argmin(np.abs(path)))] if wanted.facial is None else np.asarray(wanted.facial, dtype=float)
    across = towards - (towards @ path) * path
    length = float(np.linalg.norm(across))
    if not (np.isfinite(length) and length > np.finfo(np.float32).eps * float(np.linalg.norm(towards))):
        raise PreparationRefused("facial_along_path", "facial")
    facial = across / length
    left_handed = wanted.facial is not None and wanted.tooth is not None and wanted.tooth // 10 not in _RIGHT_HANDED
    mesial = np.cross(path, facial)
    return np.asarray(facial), np.asarray(-mesial if left_handed else mesial)


def _resists(share: Floats, remedy: Remedies | None) -> Verdict:
    """Short where the weakest wall does not resist in half, by more height than a reading can show."""
    if share.min() >= HALF:
        return "kept"
    slight = remedy is not None and remedy.height_mm is not None and 0 < remedy.height_mm <= value("plan.short_by_least_mm")
    return "in doubt" if slight else "short"


def _height(found: Measured, tooth: int | None) -> Verdict:
    """Graded on the mean of the walls and on the lowest; where the tooth was not told, no better than both limits allow."""
    mean, least = float(np.nanmean(found.height_mm)), float(np.nanmin(found.height_mm))

    def graded(molar: bool) -> Verdict:
        limit = least_height_mm(molar)
        return "short" if mean < limit else "in doubt" if least < limit else "kept"

    if tooth is not None:
        return graded(tooth % 10 >= _MOLAR_FROM)
    return graded(True) if graded(True) == graded(False) else "not assessed"


def _remedies(found: Measured, weakest: int) -> Remedies | None:
    """Return what would make half of the weakest wall resist: the one opposite to where the crown tips."""
    height = float(np.roll(found.height_mm, -STATIONS // 2)[weakest])
    base, convergence = float(found.width_mm[weakest]), float(found.convergence_deg[weakest])
    if not (height > 0 and 0 < convergence <= _WIDEST_DEG) or height >= float(apex_height_mm(base, convergence)):
        return None
    return remedies(height, base, convergence)


def _gains(found: Measured, wanted: Wanted) -> tuple[Gain, ...]:
    """Return what changes buy on an even stump of the same widths, mean height and convergence.

    Grooves and boxes stand between the teeth: they are left out where the facial side was not told.
    """
    quarter = round(QUARTER_DEG * STATIONS / 360)
    widths = found.width_mm[[0, quarter]]
    convergence = np.maximum(found.convergence_deg[[0, quarter]], 0)
    if not np.isfinite(convergence).all():
        return ()
    design = PreparationDesign(
        facial_oral_mm=float(widths[0]),
        mesiodistal_mm=float(widths[1]),
        height_mm=float(np.nanmean(found.height_mm)),
        convergence_facial_oral_deg=float(convergence[0]),
        convergence_mesiodistal_deg=float(convergence[1]),
    )
    try:
        every = gains(design)[1]
    except ValueError:  # so strong a convergence that even walls would meet below the top
        return ()
    between = ("proximal_grooves", "proximal_boxes")
    return tuple(gain for gain in every if wanted.facial is not None or gain.key not in between)
