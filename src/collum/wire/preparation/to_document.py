"""From the judged preparation to its wire form; numbers are rounded once, here."""

from collections.abc import Iterator

import numpy as np

from collum.core.crown.form import HALF
from collum.core.crown.retention import CEMENTS, retention_range
from collum.core.preparation.facet_resistance import tipping_directions
from collum.core.ring import STATIONS_DEG, Floats
from collum.core.surface.coarse import coarse, resists_at_centres
from collum.evidence import all_constants, get
from collum.plan.preparation.judged import Judged
from collum.plan.printed import as_line, rounded
from collum.plan.sentence import say
from collum.wire.form import Line
from collum.wire.preparation.document import (
    ChangeDocument,
    DrawnDocument,
    FinishLineDocument,
    FrameDocument,
    Gaps,
    MeshFileDocument,
    MeshRepairDocument,
    PreparationDocument,
    PreparationPartDocument,
    RemedyDocument,
    UndercutDocument,
)
from collum.wire.preparation.sentences import EVIDENCE, answer, assumed, limits, overall, part_said, remedy_said, tooth_told
from collum.wire.restoration.document import RetentionDocument
from collum.wire.restoration.sentences import change_said
from collum.wire.sources import constant_document
from collum.wire.speaking import Speaker, Words, speaker

_DRAWN_FACETS, _DRAWN_POINTS = 2_400, 180
_DRAWN_DECIMALS = 3  # micrometres
_CONSTANTS = ("scan.", "preparation.")


def preparation_document(
    judged: Judged, *, file: MeshFileDocument, cut: int, program_version: str, words: Words
) -> PreparationDocument:
    """Return the wire form; `cut`: how many polygons of the file were cut into triangles."""
    speak = speaker(words, tooth_told(judged))
    found, surface = judged.measured, judged.placement.surface
    widest, narrowest = int(np.nanargmax(found.convergence_deg)), int(np.nanargmin(found.convergence_deg))
    retention = list(_retention(judged))
    named = {key for keys in EVIDENCE.values() for key in keys} | {one.evidence for one in retention}
    return PreparationDocument(
        format="collum-preparation/2",
        program_version=program_version,
        units={"length": "mm", "angle": "deg", "area": "mm2", "volume": "mm3", "force": "N", "time": "s"},
        file=file,
        took=None,
        frame=_frame(judged),
        stations_deg=as_line(STATIONS_DEG),
        verdict=overall(judged),
        answer=[speak(sentence) for sentence in answer(judged)],
        parts=[
            PreparationPartDocument(
                id=part,
                verdict=verdict,
                said=[speak(sentence) for sentence in part_said(judged, part)],
                evidence=list(EVIDENCE[part]),
            )
            for part, verdict in judged.verdicts.items()
        ],
        height_mm=_gaps(found.height_mm),
        height_mean_mm=rounded(judged.height_mean_mm),
        height_least_mm=rounded(found.height_mm[judged.lowest]),
        height_least_deg=float(STATIONS_DEG[judged.lowest]),
        taper_deg=_gaps(found.taper_deg),
        convergence_deg=_gaps(found.convergence_deg),
        convergence_mean_deg=rounded(judged.convergence_deg),
        convergence_most_deg=rounded(found.convergence_deg[widest]),
        convergence_most_at_deg=float(STATIONS_DEG[widest]),
        convergence_least_deg=rounded(found.convergence_deg[narrowest]),
        convergence_least_at_deg=float(STATIONS_DEG[narrowest]),
        width_mm=as_line(found.width_mm),
        wall_mm2=rounded(surface.wall_area_mm2()),
        top_mm2=rounded(surface.top_area_mm2()),
        volume_mm3=rounded(found.volume_mm3),
        resisting_share=as_line(judged.share),
        resisting_mm2=as_line(judged.resistance.area_mm2),
        asked_share=HALF,
        weakest_share=rounded(judged.share.min()),
        weakest_deg=float(STATIONS_DEG[judged.weakest]),
        undercut=UndercutDocument(
            area_mm2=rounded(judged.placement.undercut_mm2),
            steepest_deg=rounded(judged.placement.undercut_deg),
            reserve_deg=rounded(judged.placement.reserve_deg),
        ),
        finish_line=FinishLineDocument(
            length_mm=rounded(found.line_length_mm),
            range_mm=rounded(found.line_range_mm),
            height_mm=_gaps(found.line_mm),
            highest_deg=float(STATIONS_DEG[int(np.nanargmax(found.line_mm))]),
            lowest_deg=float(STATIONS_DEG[int(np.nanargmin(found.line_mm))]),
        ),
        remedy=_remedy(judged, speak),
        changes=[
            ChangeDocument(
                change=gain.key,
                gained_mm2=None if gain.gained_mm2 is None else rounded(gain.gained_mm2),
                removed_mm3=None if gain.removed_mm3 is None else rounded(gain.removed_mm3),
                said=speak(change_said(gain.key)),
            )
            for gain in judged.gains
        ],
        retention=retention,
        beside_plan=None,
        repairs=list(_repairs(judged, cut, speak)),
        assumed=[speak(sentence) for sentence in assumed(judged)],
        limits=[speak(sentence) for sentence in limits()],
        drawn=_drawn(judged),
        constants=[constant_document(c) for c in all_constants() if c.key.startswith(_CONSTANTS) or c.key in named],
    )


def _frame(judged: Judged) -> FrameDocument:
    return FrameDocument(
        path=as_line(judged.placement.surface.path),
        path_found=judged.placement.found,
        towards_0=as_line(judged.facial),
        towards_90=as_line(judged.mesial),
        facial_known=judged.wanted.facial is not None,
        tooth=judged.wanted.tooth,
    )


def _remedy(judged: Judged, speak: Speaker) -> RemedyDocument | None:
    said = remedy_said(judged)
    if not said or judged.remedies is None:
        return None
    found = judged.remedies
    return RemedyDocument(
        height_mm=None if found.height_mm is None else rounded(found.height_mm),
        convergence_deg=None if found.convergence_deg is None else rounded(found.convergence_deg),
        recut_mm=None if found.recut_mm is None else rounded(found.recut_mm),
        said=[speak(sentence) for sentence in said],
    )


def _retention(judged: Judged) -> Iterator[RetentionDocument]:
    """Give a range for every class of cement; none for walls that are parallel or undercut on the mean."""
    if judged.convergence_deg <= 0:
        return
    area = judged.placement.surface.wall_area_mm2()
    for cement in CEMENTS:
        held = retention_range(area, judged.convergence_deg, cement)
        yield RetentionDocument(
            cement=cement,
            low_n=rounded(float(held.low_n)),
            high_n=rounded(float(held.high_n)),
            evidence=held.evidence,
            status=get(held.evidence).status,
        )


def _repairs(judged: Judged, cut: int, speak: Speaker) -> Iterator[MeshRepairDocument]:
    if cut:
        yield MeshRepairDocument(kind="cut", count=cut, said=speak(say("preparation.repair.cut", count=cut)))
    for repair in judged.placement.surface.repairs:
        said = speak(say(f"preparation.repair.{repair.kind}", count=repair.count))
        yield MeshRepairDocument(kind=repair.kind, count=repair.count, said=said)
    if judged.placement.reversed:
        yield MeshRepairDocument(kind="path_reversed", count=1, said=speak(say("preparation.repair.path_reversed")))


def _drawn(judged: Judged) -> DrawnDocument:
    """Return a coarse copy in the frame of the tooth, about the middle of the finish line."""
    surface = judged.placement.surface
    vertices, faces = coarse(surface, _DRAWN_FACETS)
    frame = np.stack([judged.facial, judged.mesial, surface.path])
    middle = surface.finish_line_mm.mean(axis=0)
    pivot = judged.resistance.pivots_mm[judged.weakest]
    towards = tipping_directions(surface.path, judged.facial, judged.mesial, STATIONS_DEG[[judged.weakest]])[0]
    line = surface.finish_line_mm[:: max(1, len(surface.finish_line) // _DRAWN_POINTS)]
    return DrawnDocument(
        vertices_mm=[_point(row) for row in (vertices - middle) @ frame.T],
        facets=[[int(corner) for corner in facet] for facet in faces],
        resists=[bool(one) for one in resists_at_centres(vertices, faces, pivot, np.cross(surface.path, towards))],
        finish_line_mm=[_point(row) for row in (line - middle) @ frame.T],
        pivot_mm=_point(frame @ (pivot - middle)),
    )


def _point(row: Floats) -> Line:
    return [round(float(number), _DRAWN_DECIMALS) + 0.0 for number in row]


def _gaps(line: Floats) -> Gaps:
    return [None if np.isnan(number) else rounded(number) for number in line]
