"""From the recorded tooth to what the computing parts take: readings with their errors, state, wishes, limits.

Heights are relative to the gingival margin of the same station, coronal positive, unless a name says otherwise. [mm]
"""

from dataclasses import dataclass

import numpy as np

from collum.case.facts import Proximal
from collum.case.model import Case, Reading, RequirementWish, Tooth, site_angle_deg
from collum.case.reading_kinds import ROW_OF, ReadingKind
from collum.core import tooth as anatomy
from collum.core.healing import Neighbours
from collum.core.neck import DepthReading, LineReading, NeckState, SoundingReading, line_posterior
from collum.core.ring import (
    ORAL_DEG,
    QUARTER_DEG,
    STATIONS_DEG,
    Floats,
    angular_distance_deg,
    interpolate_ring,
    proximal_weight,
)
from collum.evidence.handed import Evidence, HealingLaw, NeckPriors, PlanLimits
from collum.vocabulary import Phenotype


@dataclass(frozen=True, slots=True, kw_only=True)
class HeightElsewhere:
    """Margin-to-crest height read at a healthy mirror tooth or neighbour, at the same angle. [mm]"""

    theta_deg: float
    height_mm: float
    error_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class LevelInputs:
    """All that levels and draws take from what is recorded: plain values that can be compared, so that they name the draws.

    `margin_mm`: height of the margin in the tooth frame at each station.
    """

    state: NeckState
    neighbours: Neighbours
    probing: tuple[DepthReading, ...]
    soundings: tuple[SoundingReading, ...]
    sound_edge: tuple[LineReading, ...]
    occlusal_edge: tuple[LineReading, ...]
    mucogingival: tuple[LineReading, ...]
    cej: tuple[LineReading, ...]
    healthy_sites_deg: tuple[float, ...]
    heights_elsewhere: tuple[HeightElsewhere, ...]
    edge_is_level: bool
    margin_mm: tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Inputs:
    """One tooth, ready to compute. Station arrays are (36,). `sounding_places`: site and number of each sounding typed."""

    tooth: Tooth
    phenotype: str
    levels: LevelInputs
    sounding_places: tuple[tuple[str, int], ...]
    thickness_mm: Floats
    wall_mm: Floats | None
    keratinised_exempt: np.ndarray


def inputs_of(case: Case, position: int, evidence: Evidence) -> Inputs:
    """Return the inputs of the tooth at `position` of the case."""
    tooth, priors = case.teeth[position], evidence.neck
    soundings, places = _depths(tooth, "bone_sounding", priors)
    return Inputs(
        tooth=tooth,
        phenotype=case.patient.phenotype,
        levels=_level_inputs(tooth, soundings, priors, evidence.healing),
        sounding_places=places,
        thickness_mm=_thickness(tooth, case.patient.phenotype, evidence.limits),
        wall_mm=by_station(tooth, "wall_thickness"),
        keratinised_exempt=_keratinised_exempt(tooth),
    )


def _level_inputs(tooth: Tooth, sounding: tuple[DepthReading, ...], priors: NeckPriors, law: HealingLaw) -> LevelInputs:
    probing, _ = _depths(tooth, "probing_depth", priors)
    film = _proximal_crest_from_film(tooth, priors)
    deepest = max((r.value_mm for r in probing), default=0)
    settled = (
        tooth.state == "healthy"
        and deepest <= priors.healthy_deepest_probing_mm
        and "overgrown" not in tooth.site_state.values()
    )
    return LevelInputs(
        state=NeckState(
            settled=settled,
            bleeding_deg=tuple(site_angle_deg(s) for s in tooth.sites if s in tooth.bleeding),
            quiet_deg=tuple(site_angle_deg(s) for s in tooth.sites if s not in tooth.bleeding),
        ),
        neighbours=Neighbours(mesial=tooth.contact_mesial == "tooth", distal=tooth.contact_distal == "tooth"),
        probing=probing,
        soundings=tuple(_as_sounding(r, tooth) for r in (*sounding, *film)),
        sound_edge=_lines(tooth, "sound_height", priors),
        occlusal_edge=_lines(tooth, "crown_height", priors),
        mucogingival=_lines(tooth, "keratinised_width", priors),
        cej=_lines(tooth, "cej_height", priors),
        healthy_sites_deg=tuple(site_angle_deg(s) for s in tooth.sites if _healthy_site(tooth, s, priors)),
        heights_elsewhere=tuple(
            HeightElsewhere(
                theta_deg=site_angle_deg(o.site),
                height_mm=o.margin_to_crest_mm,
                error_mm=o.error_mm or law.other_tooth_error_mm,
            )
            for o in tooth.own_height_from
        ),
        edge_is_level=tooth.edge_is_level,
        margin_mm=tuple(float(mm) for mm in margin_height_mm(tooth, priors)),
    )


def measured(tooth: Tooth, kind: ReadingKind, site: str) -> tuple[Reading, ...]:
    """Return the readings of `kind` at `site` that carry a number ("beyond" included)."""
    return tuple(r for r in tooth.readings.get(kind, {}).get(site, ()) if r.value_mm is not None)


def mean_reading_mm(tooth: Tooth, kind: ReadingKind, site: str) -> float | None:
    """Return the mean of the exact readings of `kind` at `site`, None where there is none. [mm]"""
    numbers = [r.value_mm for r in measured(tooth, kind, site) if r.value_mm is not None and r.outcome == "measured"]
    return float(np.mean(numbers)) if numbers else None


def margin_height_mm(tooth: Tooth, priors: NeckPriors) -> Floats:
    """Return (36,) the present margin in the tooth frame: the tie of the sites to one z, for drawing and smoothness only.

    z = 0 lies a handbook crown length apical of the occlusal edge, taken as level; without crown heights the handbook
    curvature of the neck stands in. Verdicts never rest on it.
    """
    size = anatomy.dimensions(tooth.number)
    curvature = np.where(STATIONS_DEG < ORAL_DEG, size.curvature_mesial_mm, size.curvature_distal_mm)
    scallop = curvature * proximal_weight(STATIONS_DEG)
    at, heights = [], []
    for site in tooth.sites:
        height = mean_reading_mm(tooth, "crown_height", site)
        if height is not None:
            at.append(site_angle_deg(site))
            heights.append(size.crown_length_mm - height)
    if not at:
        return np.asarray(scallop)
    scallop_at = np.interp(np.array(at), STATIONS_DEG, scallop, period=360)
    away = tuple(
        LineReading(theta_deg=angle, height_mm=float(mm), step_mm=0, error_mm=priors.tie_error_mm)
        for angle, mm in zip(at, np.array(heights) - scallop_at, strict=True)
    )
    line = line_posterior(away, priors.occlusal_edge_between_sd_mm, priors)
    return np.asarray(scallop + line.mean_mm(STATIONS_DEG))


def _depths(
    tooth: Tooth, kind: ReadingKind, priors: NeckPriors
) -> tuple[tuple[DepthReading, ...], tuple[tuple[str, int], ...]]:
    readings, places = [], []
    for site in tooth.sites:
        for number, reading in enumerate(tooth.readings.get(kind, {}).get(site, ())):
            if reading.value_mm is None:
                continue
            readings.append(
                DepthReading(
                    theta_deg=site_angle_deg(site),
                    value_mm=reading.value_mm,
                    step_mm=reading.step_mm,
                    error_mm=_depth_error(tooth, kind, site, reading, priors),
                    beyond=reading.outcome == "beyond",
                )
            )
            places.append((site, number))
    return tuple(readings), tuple(places)


def _proximal_crest_from_film(tooth: Tooth, priors: NeckPriors) -> tuple[DepthReading, ...]:
    """Return the crest between the teeth as measured on a film; facial and oral crest cannot be read there."""
    film = tooth.facts.proximal_crest_from_film_mm or Proximal()
    sides = {"mesial": QUARTER_DEG, "distal": 3 * QUARTER_DEG}
    return tuple(
        DepthReading(theta_deg=sides[side], value_mm=mm, step_mm=priors.film_step_mm, error_mm=priors.film_error_mm)
        for side, mm in film.by_side().items()
    )


def _depth_error(tooth: Tooth, kind: ReadingKind, site: str, reading: Reading, priors: NeckPriors) -> float:
    if reading.error_mm is not None:
        return reading.error_mm
    if kind == "bone_sounding":
        return priors.sounding_error_mm
    back = anatomy.tooth_class(tooth.number) in ("premolar", "molar")
    between = site not in ("F", "L")
    return priors.probing_posterior_proximal_error_mm if back and between else priors.probing_error_mm


def _as_sounding(reading: DepthReading, tooth: Tooth) -> SoundingReading:
    front = anatomy.is_upper(tooth.number) and anatomy.tooth_class(tooth.number) in ("central", "lateral", "canine")
    facial = angular_distance_deg(np.array([reading.theta_deg]), 0)[0] < QUARTER_DEG
    return SoundingReading(
        theta_deg=reading.theta_deg,
        value_mm=reading.value_mm,
        step_mm=reading.step_mm,
        error_mm=reading.error_mm,
        beyond=reading.beyond,
        facial_front=bool(front and facial and tooth.role != "neighbour"),
    )


def _lines(tooth: Tooth, kind: ReadingKind, priors: NeckPriors) -> tuple[LineReading, ...]:
    row = ROW_OF[kind]
    assert row.error_key is not None
    usual_error_mm = priors.of_key(row.error_key)
    return tuple(
        LineReading(
            theta_deg=site_angle_deg(site),
            height_mm=(row.height_sign if reading.outcome == "measured" else -1) * reading.value_mm,
            step_mm=reading.step_mm,
            error_mm=reading.error_mm if reading.error_mm is not None else usual_error_mm,
            below=reading.outcome == "beyond",
        )
        for site in tooth.sites
        for reading in measured(tooth, kind, site)
        if reading.value_mm is not None
    )


def _healthy_site(tooth: Tooth, site: str, priors: NeckPriors) -> bool:
    depth = mean_reading_mm(tooth, "probing_depth", site)
    state = tooth.site_state.get(site, tooth.state)
    return (
        state == "healthy" and site not in tooth.bleeding and depth is not None and depth <= priors.healthy_deepest_probing_mm
    )


def _thickness(tooth: Tooth, phenotype: Phenotype, limits: PlanLimits) -> Floats:
    entered = by_station(tooth, "tissue_thickness")
    if entered is not None:
        return entered
    usual: dict[Phenotype, float] = {
        "thin": limits.thickness_thin_mm,
        "unknown": limits.thickness_unknown_mm,
        "thick": limits.thickness_thick_mm,
    }
    thickness = np.full(STATIONS_DEG.size, usual[phenotype])
    if anatomy.is_upper(tooth.number):
        thickness[angular_distance_deg(STATIONS_DEG, ORAL_DEG) < QUARTER_DEG] = limits.thickness_thick_mm
    return thickness


def by_station(tooth: Tooth, kind: ReadingKind) -> Floats | None:
    known = [(site_angle_deg(s), mean_reading_mm(tooth, kind, s)) for s in tooth.sites]
    pairs = [(at, mm) for at, mm in known if mm is not None]
    if not pairs:
        return None
    return interpolate_ring(STATIONS_DEG, np.array([at for at, _ in pairs]), np.array([mm for _, mm in pairs]))


def _keratinised_exempt(tooth: Tooth) -> np.ndarray:
    """Return (36,) bool: stations nearest to a site where keratinised width does not apply (the palate)."""
    marks = tooth.readings.get("keratinised_width", {})
    given = [s for s in tooth.sites if s in marks]
    exempt = [s for s in given if any(r.outcome == "not applicable" for r in marks[s])]
    if not exempt:
        return np.zeros(STATIONS_DEG.size, dtype=bool)
    nearest = np.argmin([angular_distance_deg(STATIONS_DEG, site_angle_deg(s)) for s in given], axis=0)
    return np.isin(nearest, [given.index(s) for s in exempt])


def wish_for(tooth: Tooth, requirement: str) -> RequirementWish | None:
    """Return the dentist's own limit or confidence for `requirement`, if any."""
    return next((w for w in tooth.requirements if w.id == requirement), None)
