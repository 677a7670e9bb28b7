"""From what a round leaves on the sections of a tooth to the wire form of one of them."""

from base64 import b64encode
from collections.abc import Iterator, Mapping

import numpy as np
from pydantic import PrivateAttr

from collum.case.model import Tooth
from collum.core.heat import ORGANS, Organ, OrganLimit, RoundField
from collum.core.heat.alternating import Field
from collum.core.heat.neck_outline import SECTION_TISSUES, outline_mm
from collum.core.ring import Floats
from collum.evidence import value
from collum.plan.heat.round_warmth import BandName, RoundWarmth
from collum.plan.printed import rounded
from collum.plan.sentence import say
from collum.wire.heat.document import (
    HeatDocument,
    HeatSectionDocument,
    SectionLimitDocument,
    SectionOrganDocument,
    SectionOutlineDocument,
    Side,
)
from collum.wire.speaking import Words, speaker

_TURN_DEG = 360
_LEVELS = 3
_DIGITS = 6
_GREATEST = int(np.iinfo(np.int16).max)


class WarmDocument(HeatDocument):
    """An answer with what it leaves on the sections of its teeth: kept beside it as long as it lives, never on the wire."""

    _beside: Mapping[int, tuple[Tooth, RoundWarmth]] = PrivateAttr(default_factory=dict)

    def beside(self, warmth: Mapping[int, tuple[Tooth, RoundWarmth]]) -> "WarmDocument":
        """Return itself with the warmth of its teeth, by number."""
        self._beside = warmth
        return self

    def kept(self, number: int) -> tuple[Tooth, RoundWarmth] | None:
        """Return a tooth and its round on the sections, None where there is no round."""
        return self._beside.get(number)


def stations_deg(warmth: RoundWarmth) -> list[int]:
    """Return the angles at which a section can be had."""
    return [round(angle) for angle in warmth.grid.angle_deg]


def section_document(tooth: Tooth, warmth: RoundWarmth, station_deg: int, band: BandName, words: Words) -> HeatSectionDocument:
    """Return the section at a station in a band. Raises ValueError where no section is kept at this station."""
    stations = stations_deg(warmth)
    if station_deg not in stations:
        raise ValueError(f"no section at {station_deg} deg")
    opposite_deg = (station_deg + _TURN_DEG // 2) % _TURN_DEG
    shapes, amounts = _in_whole_numbers(_on_section(warmth, stations.index(station_deg), stations.index(opposite_deg), band))
    radius = warmth.grid.radius_mm
    level = value("heat.section.level_degc")
    return HeatSectionDocument(
        format="collum-heat-section/1",
        number=tooth.number,
        station_deg=station_deg,
        stations_deg=stations,
        band=band,
        across_mm=[rounded(x) for x in (*-radius[:0:-1], *radius)],
        height_mm=[rounded(-z) for z in warmth.grid.z_mm],
        every_s=float(warmth.at_s[1]),
        amounts_degC=[[float(f"{amount:.{_DIGITS}g}") for amount in row] for row in amounts.tolist()],
        shapes=[b64encode(shape.astype("<i2").tobytes()).decode() for shape in shapes],
        outlines=list(_outlines(warmth, {"here": station_deg, "across": opposite_deg})),
        levels_degC=[level * 2**doubling for doubling in range(_LEVELS)],
        limits=[SectionLimitDocument(organ=o, rise_degC=OrganLimit.of(o).rise_degC) for o in ORGANS if o in warmth.organs],
        organs=list(_organs(warmth, {"here": station_deg, "across": opposite_deg}, band)),
        note=speaker(words)(say(f"heat.section.band_{band}")),
    )


def _on_section(warmth: RoundWarmth, here: int, across: int, band: BandName) -> RoundField:
    """Return the field on two half planes as one section: from across over the axis to here, row by row from the top."""
    field = warmth.fields[band]
    planes = field.shapes.reshape(-1, *warmth.grid.shape)
    both = np.concatenate([planes[:, across, :, :0:-1], planes[:, here]], axis=2)
    return RoundField(shapes=both.reshape(len(both), -1), amounts=field.amounts)


def _in_whole_numbers(field: RoundField) -> tuple[Field, Floats]:
    """Return shapes (S, N) as whole numbers of 16 bits and the amounts (T, S) that undo it; shapes that are 0 go."""
    greatest = np.abs(field.shapes).max(axis=1)
    kept = greatest > 0
    unit = greatest[kept] / _GREATEST
    return np.rint(field.shapes[kept] / unit[:, None]), field.amounts[:, kept] * unit


def _outlines(warmth: RoundWarmth, sides: dict[Side, int]) -> Iterator[SectionOutlineDocument]:
    top, bottom = float(warmth.grid.z_mm[0]), float(warmth.grid.z_mm[-1])
    for side, angle in sides.items():
        sign = 1 if side == "here" else -1
        for tissue in SECTION_TISSUES:
            if tissue == "pulp" and tissue not in warmth.organs:
                continue  # a tooth without a living pulp
            points = outline_mm(warmth.shape, tissue, angle, top, bottom)
            if points.size and np.ptp(points[:, 0]) > 0:
                pairs = [[rounded(sign * radius), rounded(-z)] for radius, z in points.tolist()]
                yield SectionOutlineDocument(tissue=tissue, side=side, points_mm=pairs)


def _organs(warmth: RoundWarmth, sides: dict[Side, int], band: BandName) -> Iterator[SectionOrganDocument]:
    hottest, every_deg = warmth.hottest[band], value("heat.watch.every_deg")
    angle = np.arange(len(warmth.organs)) % round(_TURN_DEG / every_deg) * every_deg
    for organ in ORGANS:
        for side, at_deg in sides.items():
            rows = np.flatnonzero(_of(warmth, organ) & (angle == at_deg))
            if rows.size:
                row = rows[hottest.rise_degC[rows].argmax()]
                share = float(hottest.rise_degC[row]) / OrganLimit.of(organ).rise_degC
                at_s = rounded(float(hottest.instant_s[row]))
                yield SectionOrganDocument(organ=organ, side=side, share=rounded(share), at_s=at_s)


def _of(warmth: RoundWarmth, organ: Organ) -> "np.ndarray[tuple[int], np.dtype[np.bool_]]":
    return np.array([name == organ for name in warmth.organs])
