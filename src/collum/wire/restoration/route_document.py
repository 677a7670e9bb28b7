"""From the answer on one route to its wire form; numbers are rounded once, here."""

from dataclasses import asdict

import numpy as np
from numpy.typing import NDArray

from collum.core.crown.ferrule import SECTORS
from collum.core.crown.form import HALF
from collum.core.crown.guidance import convergence_band
from collum.core.post.pins import pin_lengths
from collum.core.ring import STATIONS_DEG, Floats, angular_distance_deg
from collum.evidence import get, value
from collum.plan.printed import as_line, rounded
from collum.plan.restoration.basis import RestorationBasis
from collum.plan.restoration.ferrule import Ferrule
from collum.plan.restoration.parts import Part
from collum.plan.restoration.posts import Pins
from collum.plan.restoration.preparation import Preparation, gain_share
from collum.plan.restoration.tooth_restoration import RouteRestoration
from collum.wire.restoration.answer import answer, no_preparation, part_said, would_hold
from collum.wire.restoration.document import (
    FerruleDocument,
    GainDocument,
    OptimumDocument,
    PartDocument,
    RemediesDocument,
    RetentionDocument,
    RouteRestorationDocument,
    SectorDocument,
    StumpDocument,
)
from collum.wire.restoration.parts_document import MaterialDocument, PinDocument, PinsDocument
from collum.wire.restoration.post_document import post_document
from collum.wire.restoration.sentences import change_said, laboratory_said, optimum_said, trade_said
from collum.wire.speaking import Speaker

_TURN_DEG = 360
_EVIDENCE: dict[str, tuple[str, ...]] = {
    "resistance": ("restoration.convergence_most_deg", "plan.groove_base_share"),
    "preparation_height": ("restoration.height_to_width_least",),
    "ferrule": ("plan.limit.ferrule_mm", "plan.limit.wall_thickness_mm"),
    "crown_to_root": ("plan.limit.crown_to_root", "plan.crown_to_root_over_norm"),
    "attached_area": ("plan.limit.attached_area",),
    "furcation": ("plan.limit.furcation_to_finish_mm",),
}
_HEIGHT = ("plan.limit.preparation_height_mm", "plan.limit.preparation_height_molar_mm")


def route_restoration_document(found: RouteRestoration, speak: Speaker) -> RouteRestorationDocument:
    """Return the wire form of the answer on one route."""
    basis, preparation = found.basis, found.preparation
    absent = isinstance(preparation, str)
    return RouteRestorationDocument(
        route=basis.route.name,
        route_verdict=basis.route.verdict,
        verdict=found.verdict,
        probability=_or_none(found.probability),
        answer=[speak(sentence) for sentence in answer(found)],
        would_hold=[speak(sentence) for sentence in would_hold(found)],
        parts=[_part(found, part, speak) for part in found.parts],
        finish_line_height_mm=as_line(basis.finish_mm),
        planned_edge_height_mm=None if basis.edge_mm is None else as_line(basis.edge_mm),
        crest_after_height_mm=as_line(basis.crest_mm - basis.lowered_mm),
        facial_oral_mm=rounded(basis.neck.facial_oral_mm),
        mesiodistal_mm=rounded(basis.neck.mesiodistal_mm),
        neck_from_case=basis.neck.read,
        convergence_deg=rounded(basis.convergence_deg),
        convergence_from=basis.convergence_from,
        grooves=basis.grooves,
        stump=None if isinstance(preparation, str) else _preparation(basis, preparation, speak),
        stump_absent=speak(no_preparation(preparation, basis)) if isinstance(preparation, str) else None,
        retention=[] if absent else _retention(found),
        ferrule=_ferrule(found.ferrule, basis.wishes.loaded, speak),
        posts=[post_document(post, speak) for post in found.posts],
        pins=[_pins(pins) for pins in found.pins],
        materials=_materials(found),
        laboratory=[speak(sentence) for sentence in laboratory_said(found)],
    )


def _part(found: RouteRestoration, part: Part, speak: Speaker) -> PartDocument:
    keys = _EVIDENCE[part.id]
    if part.id == "preparation_height":
        keys = (_HEIGHT[found.basis.molar], *keys)
    return PartDocument.model_validate(
        {
            "id": part.id,
            "verdict": part.verdict,
            "probability": _or_none(part.probability),
            "confidence": part.confidence,
            "band": None if part.band is None else {name: rounded(number) for name, number in asdict(part.band).items()},
            "said": [speak(sentence) for sentence in part_said(found, part)],
            "evidence": list(keys),
        }
    )


def _preparation(basis: RestorationBasis, preparation: Preparation, speak: Speaker) -> StumpDocument:
    assert basis.top_mm is not None
    lowest, mean = basis.lowest(), float(preparation.height_mm[basis.read_stations()].mean())
    band = convergence_band(basis.convergence_deg)
    assert band is not None
    return StumpDocument(
        top_height_mm=as_line(basis.top_mm),
        height_mm=as_line(preparation.height_mm),
        height_mean_mm=rounded(mean),
        height_least_mm=rounded(preparation.height_mm[lowest]),
        height_least_deg=float(STATIONS_DEG[lowest]),
        height_limit_mm=basis.height_limit_mm,
        height_to_width_ratio=rounded(mean / basis.neck.facial_oral_mm),
        height_to_width_least_ratio=value("restoration.height_to_width_least"),
        convergence_band=band,
        wall_mm2=rounded(preparation.wall_mm2),
        top_mm2=rounded(preparation.top_mm2),
        resisting_share=as_line(preparation.share),
        resisting_mm2=as_line(preparation.area_mm2),
        asked_share=HALF,
        weakest_share=rounded(preparation.share.min()),
        weakest_deg=float(STATIONS_DEG[preparation.weakest]),
        remedies=RemediesDocument(
            height_mm=_or_none(preparation.remedies.height_mm),
            convergence_deg=_or_none(preparation.remedies.convergence_deg),
            recut_mm=_or_none(preparation.remedies.recut_mm),
            grooves_share=rounded(preparation.remedies.grooves_share),
        ),
        gains=_gains(basis, preparation, speak),
    )


def _gains(basis: RestorationBasis, preparation: Preparation, speak: Speaker) -> list[GainDocument]:
    rows = []
    for gain in preparation.gains:
        share = gain_share(basis, gain, preparation)
        rows.append(
            GainDocument(
                change=gain.key,
                weakest_share=_or_none(share),
                gained_mm2=_or_none(gain.gained_mm2),
                removed_mm3=_or_none(gain.removed_mm3),
                enough=None if share is None else share >= HALF,
                said=speak(change_said(gain.key)),
            )
        )
    return rows


def _retention(found: RouteRestoration) -> list[RetentionDocument]:
    return [
        RetentionDocument(
            cement=cement,
            low_n=rounded(float(held.low_n)),
            high_n=rounded(float(held.high_n)),
            evidence=held.evidence,
            status=get(held.evidence).status,
        )
        for cement, held in found.retention
    ]


def _ferrule(ferrule: Ferrule, loaded: NDArray[np.bool_], speak: Speaker) -> FerruleDocument:
    found = ferrule.map
    trades = () if isinstance(ferrule.trades, str) else ferrule.trades
    return FerruleDocument(
        wanted_mm=ferrule.wanted_mm,
        sound_wall=ferrule.sound_wall,
        height_mm=_with_gaps(ferrule.height_mm),
        sectors=[
            SectorDocument(
                centre_deg=sector.centre_deg,
                height_mm=_or_none(sector.height_mm),
                wall_left_mm=_or_none(sector.wall_left_mm),
                counted_mm=_or_none(sector.counted_mm),
                covered_deg=rounded(sector.covered_deg),
                loaded=_mostly(loaded, sector.centre_deg),
                state=sector.state,
            )
            for sector in found.sectors
        ],
        covered_deg=rounded(found.covered_deg),
        least_loaded_mm=_or_none(found.least_loaded_mm),
        extent=found.extent,
        worst_deg=found.sectors[found.worst].centre_deg,
        wall_measured=found.wall_measured,
        optimum=[
            OptimumDocument(
                way=trade.way,
                post=trade.post,
                gain_mm=rounded(trade.optimum.gain_mm),
                ferrule_mm=rounded(trade.optimum.ferrule_mm),
                crown_to_root_ratio=rounded(trade.optimum.crown_to_root),
                strength_kn=rounded(trade.optimum.strength_kn),
                strength_now_kn=_or_none(trade.optimum.strength_now_kn),
                bounded=trade.optimum.bounded,
                said=speak(trade_said(trade)),
            )
            for trade in trades
        ],
        optimum_said=[speak(sentence) for sentence in optimum_said(ferrule)],
    )


def _mostly(loaded: NDArray[np.bool_], centre_deg: float) -> bool:
    """Return whether at least half of a sector carries the load."""
    return bool(loaded[angular_distance_deg(STATIONS_DEG, centre_deg) <= _TURN_DEG / SECTORS / 2].mean() >= HALF)


def _pins(pins: Pins) -> PinsDocument:
    lengths = pin_lengths("threaded")
    return PinsDocument(
        diameter_mm=pins.diameter_mm,
        state=pins.state,
        in_dentine_mm=lengths.in_dentine_mm,
        in_material_mm=lengths.in_material_mm,
        core_mm=lengths.core_mm,
        pins=[
            PinDocument(site=site, x_mm=rounded(x), y_mm=rounded(y), surface=one.surface, pulp=one.pulp, spacing=one.spacing)
            for site, (x, y), one in zip(pins.sites, pins.positions_mm, pins.verdicts, strict=True)
        ],
    )


def _materials(found: RouteRestoration) -> list[MaterialDocument]:
    return [
        MaterialDocument(
            material=fit.material,
            axial_mm=fit.axial_mm,
            occlusal_mm=fit.occlusal_mm,
            finish_line_mm=fit.finish_line_mm,
            height_mm=_or_none(fit.height_mm),
            height_short_mm=_or_none(fit.height_short_mm),
            across_facial_oral_mm=rounded(fit.across_bl_mm),
            across_mesiodistal_mm=rounded(fit.across_md_mm),
            wall_facial_oral_mm=_or_none(fit.wall_bl_mm),
            wall_mesiodistal_mm=_or_none(fit.wall_md_mm),
            hazard=fit.hazard,
            evidence=list(fit.evidence),
            status=[get(key).status for key in fit.evidence],
        )
        for fit in found.materials
    ]


def _with_gaps(line: Floats) -> list[float | None]:
    return [None if np.isnan(mm) else rounded(mm) for mm in line]


def _or_none(number: float | None) -> float | None:
    return None if number is None else rounded(number)
