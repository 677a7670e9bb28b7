"""The answer in sentences: does it hold, what is short, and what would make it hold. Keys and parameters, no words."""

import math

import numpy as np

from collum.core.crown.form import HALF
from collum.core.ring import STATIONS_DEG
from collum.evidence import get, value
from collum.plan.lengthening.procedures.registry import procedure_of
from collum.plan.printed import rounded
from collum.plan.restoration.basis import RestorationBasis
from collum.plan.restoration.ferrule import Ferrule
from collum.plan.restoration.parts import Part, broad_for_height
from collum.plan.restoration.preparation import NoPreparation, Preparation
from collum.plan.restoration.tooth_restoration import RouteRestoration, ToothRestoration
from collum.plan.sentence import Sentence, say

_BANDS = ("resistance", "preparation_height", "ferrule")


def answer(found: RouteRestoration) -> list[Sentence]:
    """Return the answer in short: the verdict, what lacks, then what would make it hold."""
    said = [say(f"restoration.answer.{_key(found.verdict)}", route=found.basis.route.name)]
    if found.basis.route.verdict != "kept":
        said.append(say(f"restoration.answer.route_{_key(found.basis.route.verdict)}"))
    if found.probability is not None and found.probability < min(part.confidence for part in found.parts):
        said.append(say("restoration.answer.together", probability=rounded(found.probability)))
    for verdict in ("short", "in doubt", "not assessed"):
        open_ones = [part for part in found.parts if part.verdict == verdict]
        said += [sentence for part in open_ones for sentence in (*_own(found, part)[:1], *_of_the_plan(part))]
    return [*said, *would_hold(found)]


def part_said(found: RouteRestoration, part: Part) -> list[Sentence]:
    """Return what is said of one question of the answer, its chance and band, and where the plan alone makes it worse."""
    return [*_own(found, part), *_chance(part), *_of_the_plan(part)]


def _own(found: RouteRestoration, part: Part) -> list[Sentence]:
    """Return what is said of one question with the figures of the means; the first sentence tells most."""
    if part.own is None:
        return [say(f"restoration.part.{part.id}.{_key(part.verdict)}")]
    if part.id == "resistance":
        return [*_resistance(found.basis, found.preparation), *_unlike_the_plan(found, part)]
    if part.id == "preparation_height":
        return _height(found.basis, found.preparation)
    return _ferrule(found.basis, found.ferrule)


def _chance(part: Part) -> list[Sentence]:
    """Return how often the rule is kept over the draws, and between which ends its figure is."""
    if part.probability is None:
        return []
    said = [say("restoration.part.chance", probability=rounded(part.probability), confidence=part.confidence)]
    if part.band is not None and part.id in _BANDS:
        ends = {"low": part.band.low, "high": part.band.high}
        if part.id == "resistance":
            said.append(say("restoration.part.band_share", **{name: percent(end) for name, end in ends.items()}))
        else:
            said.append(say("restoration.part.band", **{f"{name}_mm": rounded(end) for name, end in ends.items()}))
    return said


def _of_the_plan(part: Part) -> list[Sentence]:
    """Return that the plan alone makes it worse, where it does."""
    if part.plan_probability is None or part.own == "not assessed":
        return []
    return [say("restoration.part.by_the_draws", probability=rounded(part.plan_probability))]


def _unlike_the_plan(found: RouteRestoration, part: Part) -> list[Sentence]:
    """Return why the plan keeps what is short here: it takes the finish line as level, on the middle of the four sides."""
    planned = found.basis.verdict(part.id)
    differs = part.own == "short" and planned is not None and planned[0] == "kept" and not isinstance(found.preparation, str)
    return [say("restoration.part.uneven")] if differs else []


def no_preparation(reason: NoPreparation, basis: RestorationBasis) -> Sentence:
    """Return why there is no preparation to judge."""
    if reason == "line_above_top" and basis.height_mm is not None:
        worst = int(np.argmin(basis.height_mm))
        return say(
            "restoration.stump.line_above_top",
            station_deg=float(STATIONS_DEG[worst]),
            by_mm=-float(basis.height_mm.min()),
        )
    return say(f"restoration.stump.{reason}")


def because(found: ToothRestoration) -> Sentence:
    """Return on which lines the tooth is judged."""
    if not found.routes:
        return say("restoration.because.no_line")
    if found.planned.recommended is None:
        return say("restoration.because.each")
    if procedure_of(found.planned.recommended).bonds:
        return say("restoration.because.bonded", route=found.planned.recommended)
    return say("restoration.because.recommended", route=found.planned.recommended)


def assumed(found: ToothRestoration) -> list[Sentence]:
    """Return what stood in for what was not read."""
    if not found.routes:
        return []
    basis = found.routes[0].basis
    said = []
    if not basis.neck.read:
        widths = {"facial_oral_mm": basis.neck.facial_oral_mm, "mesiodistal_mm": basis.neck.mesiodistal_mm}
        said.append(say("restoration.assumed.neck", **widths))
    if basis.convergence_from == "assumed":
        said.append(say("restoration.assumed.convergence", convergence_deg=basis.convergence_deg))
    if not basis.cej_read:
        said.append(say("restoration.assumed.junction", above_mm=value("plan.healthy_crest_below_cej_mm")))
    if found.tooth.root.length_mm is None:
        said.append(say("restoration.assumed.root"))
    if any(support.furcations and not support.trunk_read for _, support in found.support):
        said.append(say("restoration.assumed.trunk"))
    if found.tooth.restoration.occlusal_reduction_mm is None:
        said.append(say("restoration.assumed.reduction", reduction_mm=found.planned.wishes.reduction_mm))
    return [*said, say("restoration.assumed.means"), say("restoration.assumed.oval")]


def not_assessed(found: ToothRestoration) -> list[Sentence]:
    """Return what is not known, with the reading that would tell."""
    tooth = found.tooth
    said = []
    if found.routes and found.routes[0].basis.height_mm is None:
        said.append(say("restoration.unknown.edge"))
    if found.routes and found.planned.draws.sound_edge_mm is None:
        said.append(say("restoration.unknown.sound_edge"))
    if tooth.sound_measured is not True:
        said.append(say("restoration.unknown.caries_out"))
    if found.routes and not found.routes[0].ferrule.map.wall_measured:
        said.append(say("restoration.unknown.wall"))
    if tooth.vital is None:
        said.append(say("restoration.unknown.vital"))
    if tooth.vital is False and tooth.facts.root_filling is None:
        said.append(say("restoration.unknown.root_filling"))
    if tooth.facts.pulp_width_mm is None:
        said.append(say("restoration.unknown.pulp_width" if tooth.may_have_pulp else "restoration.unknown.canal_width"))
    if tooth.facts.opposing is None:
        said.append(say("restoration.unknown.opposing"))
    return said


def _resistance(basis: RestorationBasis, preparation: Preparation | NoPreparation) -> list[Sentence]:
    if isinstance(preparation, str):
        return [no_preparation(preparation, basis)]
    figures = {
        "percent": percent(float(preparation.share.min())),
        "half": percent(HALF),
        "station_deg": float(STATIONS_DEG[preparation.weakest]),
    }
    key = _key(preparation.verdict)
    if preparation.verdict == "in doubt":
        graded = preparation.graded
        key = "slight" if preparation.share.min() < HALF else "in_doubt" if graded.verdict == "kept" else "by_chance"
    return [say(f"restoration.resistance.{key}", **figures)]


def _height(basis: RestorationBasis, preparation: Preparation | NoPreparation) -> list[Sentence]:
    height = basis.height_mm
    if height is None:
        return [say("restoration.height.unknown")]
    lowest = basis.lowest()
    place = {"least_mm": float(height[lowest]), "station_deg": float(STATIONS_DEG[lowest])}
    limit, mean = basis.height_limit_mm, float(height[basis.read_stations()].mean())
    key = "short" if mean < limit else "low_at_one" if place["least_mm"] < limit else "kept"
    said = [say(f"restoration.height.{key}", mean_mm=mean, limit_mm=limit, **place)]
    broad = _broad(basis, mean)
    return [*broad, *said] if key == "kept" else [*said, *broad]


def _broad(basis: RestorationBasis, mean_mm: float) -> list[Sentence]:
    """Return that the height is little for the width, or would be for a wide neck."""
    broad, least = broad_for_height(basis), value("restoration.height_to_width_least")
    if broad == "yes":
        return [say("restoration.height.broad", ratio=percent(mean_mm / basis.neck.facial_oral_mm) / 100, least=least)]
    return [say("restoration.height.broad_if_wide", width_mm=mean_mm / least)] if broad == "if wide" else []


def _ferrule(basis: RestorationBasis, ferrule: Ferrule) -> list[Sentence]:
    found = ferrule.map
    kind = "wall" if ferrule.sound_wall else "ferrule"
    worst = {"station_deg": found.sectors[found.worst].centre_deg}
    if found.extent == "not assessed" or found.least_loaded_mm is None:
        return [say(f"restoration.{kind}.unknown")]
    figures = {"least_mm": found.least_loaded_mm, "wanted_mm": ferrule.wanted_mm}
    said = [say(f"restoration.{kind}.{found.extent.replace(' ', '_')}", **figures, **worst, arc_deg=found.covered_deg)]
    known = get("plan.limit.ferrule_mm")
    if not ferrule.sound_wall and known.low <= found.least_loaded_mm < known.value:
        said.append(say("restoration.ferrule.less_than_wished", low_mm=known.low, wanted_mm=known.value))
    if not found.wall_measured:
        said.append(say("restoration.ferrule.wall_not_measured"))
    if basis.tooth.sound_measured is not True:
        said.append(say("restoration.ferrule.not_yet_sound"))
    if not ferrule.sound_wall and _has_core(basis):
        said.append(say("restoration.ferrule.core"))
    return said


def _has_core(basis: RestorationBasis) -> bool:
    core = basis.tooth.facts.core
    return core is not None and core.expected


def would_hold(found: RouteRestoration) -> list[Sentence]:
    """Return what would make it hold, for each question that is short."""
    short = {part.id for part in found.parts if part.verdict == "short"}
    said: list[Sentence] = []
    preparation = found.preparation
    if "resistance" in short and not isinstance(preparation, str):
        said += _would_resist(preparation)
    if "preparation_height" in short and found.basis.height_mm is not None:
        lacking = found.basis.height_limit_mm - float(found.basis.height_mm[found.basis.lowest()])
        if lacking > 0:
            said.append(say("restoration.would.height", more_mm=lacking))
    least = found.ferrule.map.least_loaded_mm
    if "ferrule" in short and least is not None and least < found.ferrule.wanted_mm:
        said.append(say("restoration.would.ferrule", more_mm=found.ferrule.wanted_mm - least))
        said.append(say("restoration.would.ferrule_ways"))
    return said


def _would_resist(preparation: Preparation) -> list[Sentence]:
    remedies = preparation.remedies
    said = []
    if remedies.height_mm is not None:
        said.append(say("restoration.would.resist_height", more_mm=remedies.height_mm))
    if remedies.convergence_deg is not None and remedies.recut_mm is not None:
        recut = {"convergence_deg": remedies.convergence_deg, "recut_mm": remedies.recut_mm}
        said.append(say("restoration.would.resist_convergence", **recut))
    key = "resist_grooves" if remedies.grooves_share >= HALF else "grooves_too_little"
    said.append(say(f"restoration.would.{key}", percent=percent(remedies.grooves_share)))
    return said


def percent(share: float) -> int:
    """Return a share in whole hundredths, rounded down: what falls short never reads as if it met its mark."""
    return math.floor(100 * share)


def _key(verdict: str) -> str:
    return verdict.replace(" ", "_")
