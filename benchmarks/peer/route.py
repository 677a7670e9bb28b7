"""The route soft tissue only: draws, programme, simulation and verdicts. Heights from the margin, coronal positive. [mm]"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.random import Generator
from scipy.integrate import quad
from scipy.stats import norm

from benchmarks.peer import rules
from benchmarks.peer.levels import THETA, Floats, Gaussian, M, Tooth, draw, kernel
from benchmarks.peer.rules import Draws

CONFIDENCE = {"clear_of_bone": 0.99}
RESERVE_FACTOR = 1.45
FAR_MM = 100.0
ROOM_MM = 1e-5  # what the program leaves its rows
STEER_BY_EVERY = 4
HOPELESS = 0.02  # no balance of reserves mends a rule that holds so rarely


@dataclass(frozen=True, slots=True, kw_only=True)
class Statement:
    """The programme in plain bounds: minimise sum c^2 + 0.2 sum (f - aim)^2 + 2 bending, of c under the margin, of f in
    the tooth frame.

    Bounds: cut_low <= c <= cut_high, finish_low <= f <= finish_high, f - c >= gap.
    """

    cut_low: Floats
    cut_high: Floats
    finish_low: Floats
    finish_high: Floats
    gap: Floats
    aim: Floats
    margin: Floats
    arc_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    cut: Floats
    finish: Floats
    probability: dict[str, float]
    verdict: dict[str, str]


Solver = Callable[[Statement], tuple[Floats, Floats]]
Simulate = Callable[[Tooth, Draws, Floats, Floats], dict[str, Floats]]


def plan(tooth: Tooth, solver: Solver, simulate: Simulate, count: int, rng: Generator) -> Answer:
    """Return lines, chances and verdicts from readings: solve, simulate, raise the reserve of what misses, at most twice.

    A cut that comes too near to bone in the draws is made again, held off at every station where it could.
    """
    draws = draw_all(tooth, count, rng)
    near = np.zeros(M, dtype=bool)
    quantile, room = float(norm.ppf(0.99)), 0.0
    for _ in range(4):
        found = _tries(tooth, draws, solver, simulate, bone_quantile=quantile, bone_room=room)
        if found.probability.get("clear_of_bone", 1) >= 0.99:
            break
        spread = draws.crest.std(axis=1)
        away = found.cut - rules.bevel_mm(tooth) - 1.0 + draws.crest.mean(axis=1)
        near = near | (away < 4 * spread)
        highest = ((draws.crest.mean(axis=1, keepdims=True) - draws.crest) / spread[:, None])[near].max(axis=0)
        quantile, room = float(np.quantile(highest, 0.99, method="higher")), 2 * ROOM_MM
    return found


def _tries(tooth: Tooth, draws: Draws, solver: Solver, simulate: Simulate, *, bone_quantile: float, bone_room: float) -> Answer:
    margin, arc = margin_mm(tooth), perimeter_mm(tooth) / M
    few = draws.each(lambda x: x[..., ::STEER_BY_EVERY]) if draws.share.size >= 1000 * STEER_BY_EVERY else draws
    factors: dict[str, float] = {}
    tried = []
    for _ in range(3):
        stated = statement(tooth, draws, factors, margin=margin, arc_mm=arc, bone_quantile=bone_quantile, bone_room=bone_room)
        cut, finish = solver(stated)
        probability = _chances(simulate(tooth, few, cut, finish))
        tried.append((_standing(probability, few.share.size), cut, finish))
        raised = _raise(factors, probability, few.share.size)
        if raised == factors or min(probability.values()) < HOPELESS:
            break
        factors = raised
    _, cut, finish = max(tried, key=lambda entry: entry[0])
    probability = _chances(simulate(tooth, draws, cut, finish))
    verdict = {name: rules.verdict_of(name, p, confidence(name)) for name, p in probability.items()}
    return Answer(cut=cut, finish=finish, probability=probability, verdict=verdict)


def draw_all(tooth: Tooth, count: int, rng: Generator) -> Draws:
    """Return all that varies, before any line is chosen."""
    sulcus, attachment = draw(tooth, count, rng)
    crest = sulcus + attachment
    margin = margin_mm(tooth)
    tail = np.sqrt(3 / rng.chisquare(5, count))
    of_root = dict(zip(("share_deviate", "root", "trunk", "cej", "surgery"), rng.standard_normal((5, count)), strict=True))
    return Draws(
        sulcus=sulcus,
        attachment=attachment,
        own_height=np.maximum(_own_height(tooth, crest, rng), attachment + 0.5),
        share=1 - 0.4 * rng.beta(1, 3, count),
        noise=Gaussian(mean=np.zeros(M), covariance=kernel()).draws(count, rng) * tail,
        edge=_line(tooth, tooth.crown_height, 0.25, 0.4, margin).draws(count, rng) - margin[:, None],
        sound=_with_steps(_line(tooth, tooth.sound_height, 0.25, 0.5, margin).draws(count, rng), tooth.sound_height, margin),
        junction=_line(tooth, {k: -w for k, w in tooth.keratinised_width.items()}, 0.5, 0.7, margin).draws(count, rng)
        - margin[:, None],
        crest_was=-crest,
        **of_root,
    )


def _with_steps(heights: Floats, read: dict[int, float], margin: Floats) -> Floats:
    """Return the edge relative to the margin, nowhere above the lowest reading among those nearest to a station."""
    highest = np.empty(M)
    for station in range(M):
        far = {at: min((at - station) % M, (station - at) % M) for at in read}
        before = min(read, key=lambda at: (station - at) % M)
        after = min(read, key=lambda at: (at - station) % M)
        nearest = min(far[before], far[after])
        highest[station] = min(read[at] + margin[at] for at in (before, after) if far[at] == nearest)
    filled = np.maximum(heights.mean(axis=1) - highest, 0)
    return heights - (filled + margin)[:, None]


Bound = tuple[Floats, Floats]  # mean and full reserve, (36,) each


def statement(
    tooth: Tooth,
    draws: Draws,
    factors: dict[str, float],
    *,
    margin: Floats,
    arc_mm: float,
    bone_quantile: float = float(norm.ppf(0.99)),
    bone_room: float = 0.0,
) -> Statement:
    """Return the programme's bounds: means with reserves, and where they cross the largest share of the reserves that fits."""
    low_mm = max(tooth.low_mm, -sulcus_limit_mm(draws))
    guard, shared = _deepest(tooth, draws, factors, bone_quantile=bone_quantile, bone_room=bone_room)
    by_chance = factors.get("definitive_finish_line", 1) * RESERVE_FACTOR * norm.ppf(0.90) * 0.20  # what a margin moves
    below = [*_lowest(tooth, draws, factors, low_mm), *((mean + low_mm, r + by_chance) for mean, r in ((guard, 0), *shared))]
    above = _highest(tooth, draws, factors)
    share, lacking = np.ones(M), np.zeros(M)
    for (top, r_top), (bottom, r_bottom) in [(a, b) for a in above for b in below]:
        share = np.minimum(share, np.maximum(top - bottom, 0) / np.maximum(r_top + r_bottom, 1e-16))
        lacking = np.maximum(lacking, bottom - top)
    low = np.max([mean + share * reserve for mean, reserve in below], axis=0)
    high = np.min([mean - share * reserve for mean, reserve in above], axis=0) + lacking
    cut_low = np.max([guard, *(mean + share * reserve for mean, reserve in shared)], axis=0)
    for_means = np.minimum(np.maximum(cut_low, np.min([mean for mean, _ in above], axis=0) - low_mm), 0)
    wished = max(low_mm, 0) if tooth.high_mm is None else (low_mm + tooth.high_mm) / 2
    return Statement(
        cut_low=cut_low,
        cut_high=np.where(lacking > 0, for_means, 0),
        finish_low=low,
        finish_high=np.maximum(low, high),
        gap=low_mm + share * by_chance,
        aim=_rest(draws).mean(axis=1) + wished,
        margin=margin,
        arc_mm=arc_mm,
    )


def _bound(name: str, sample: Floats, above: Floats | float, factors: dict[str, float]) -> Bound:
    reserve = factors.get(name, 1) * RESERVE_FACTOR * norm.ppf(confidence(name)) * sample.std(axis=1)
    return sample.mean(axis=1) + above, reserve


def _deepest(
    tooth: Tooth, draws: Draws, factors: dict[str, float], *, bone_quantile: float, bone_room: float
) -> tuple[Floats, list[Bound]]:
    """Return how deep bone allows the cut, in full, and attachment and keratinised tissue with reserves that may be shared."""
    reserve = factors.get("clear_of_bone", 1) * bone_quantile * draws.crest.std(axis=1)
    bone = -draws.crest.mean(axis=1) + 1.0 + rules.bevel_mm(tooth) + bone_room + reserve
    bounds = [
        _bound("no_attachment_cut", -draws.sulcus, 0, factors),
        _bound("keratinised_tissue_left", draws.junction, rules.bevel_mm(tooth) + rules.keratinised_mm(tooth), factors),
    ]
    shared = [(np.minimum(mean, 0), np.minimum(reserve, np.maximum(-mean, 0))) for mean, reserve in bounds]
    return np.minimum(bone, 0), shared


def _lowest(tooth: Tooth, draws: Draws, factors: dict[str, float], low_mm: float) -> list[Bound]:
    """The line is placed from the sound edge, so it has the doubt of the edge towards all that does not follow it."""
    moved = _moved(draws)
    bounds = [
        _bound("clear_of_crest", rules.lowest_line(draws) - moved, 0, factors),
        _bound("definitive_finish_line", _rest(draws) - moved, low_mm, factors),
    ]
    entrances = rules.entrances(tooth, draws)
    if not entrances:
        return bounds
    mean, reserve = np.full(M, -FAR_MM), np.zeros(M)
    for s, height in entrances.items():
        mean[s] = height.mean() + 3.0
        reserve[s] = factors.get("furcation", 1) * RESERVE_FACTOR * norm.ppf(0.90) * height.std()
    return [*bounds, (mean, reserve)]


def _highest(tooth: Tooth, draws: Draws, factors: dict[str, float]) -> list[Bound]:
    edge = draws.edge - _moved(draws) - tooth.reduction_mm
    asked = rules.ferrule_asked(tooth)
    height, reserve = _bound("preparation_height", edge, -rules.height_mm(tooth), factors)
    unread = ~np.isin(np.arange(M), rules.HEIGHT_STATIONS)
    resisting = np.full(M, FAR_MM), np.zeros(M)
    for s, mm in rules.half_wall(tooth).items():
        mean, spread = _bound("resistance", edge[s : s + 1], -mm, factors)
        resisting[0][s], resisting[1][s] = mean[0], spread[0]
    return [
        (draws.sound.mean(axis=1) - asked - 2 * ROOM_MM, np.zeros(M)),
        (np.where(unread, FAR_MM, height), reserve),
        _bound("ferrule", edge, -asked, factors),
        resisting,
    ]


def simulate_vectorised(tooth: Tooth, draws: Draws, cut: Floats, finish: Floats) -> dict[str, Floats]:
    """Return the least reserve (n,) of every requirement, all draws at once."""
    return rules.least_reserves(tooth, draws, cut, finish)


def simulate_in_a_loop(tooth: Tooth, draws: Draws, cut: Floats, finish: Floats) -> dict[str, Floats]:
    """Return the same, one draw after the other, as it is first written."""
    count = draws.share.size
    planned = rules.planned_on(draws, rules.SOFT)
    found = [rules.both_reserves(tooth, draws.one(j), cut, finish, rules.SOFT, planned) for j in range(count)]
    return rules.worse({name: np.array([float(one[name][0]) for one in found]) for name in found[0]})


def confidence(name: str) -> float:
    return CONFIDENCE.get(name, 0.90)


def sulcus_limit_mm(draws: Draws) -> float:
    settled = np.minimum(draws.sulcus, draws.own_height - draws.attachment)
    return 0.7 if np.mean(settled > 1.5) >= 0.5 else 0.5


def margin_mm(tooth: Tooth) -> Floats:
    """Return (36,) the margin in the tooth frame: a level edge one handbook crown above z = 0, the handbook scallop between."""
    curvature = np.where(
        THETA < 180, rules.handbook(tooth, "curvature_mesial_mm"), rules.handbook(tooth, "curvature_distal_mm")
    )
    scallop = curvature * np.sin(np.deg2rad(THETA)) ** 2
    at = list(tooth.crown_height)
    if not at:
        return scallop
    heights = rules.handbook(tooth, "crown_length_mm") - np.array(list(tooth.crown_height.values()))
    away = _process({k: h - scallop[k] for k, h in zip(at, heights, strict=True)}, 0.1**2, 0.4)
    return scallop + away.mean


def perimeter_mm(tooth: Tooth) -> float:
    facial, mesial = rules.handbook(tooth, "bl_cervix_mm") / 2, rules.handbook(tooth, "md_cervix_mm") / 2
    return float(quad(lambda t: np.hypot(facial * np.sin(t), mesial * np.cos(t)), 0, 2 * np.pi)[0])


def _rest(draws: Draws) -> Floats:
    return np.asarray(np.minimum(draws.own_height - draws.crest, 0))


def _moved(draws: Draws) -> Floats:
    return np.asarray(draws.sound - draws.sound.mean(axis=1, keepdims=True))


def _chances(least: dict[str, Floats]) -> dict[str, float]:
    return {name: float(np.mean(reserve >= 0)) for name, reserve in least.items()}


def _line(tooth: Tooth, heights: dict[int, float], error: float, between: float, margin: Floats) -> Gaussian:
    in_frame = {k: h + margin[k] for k, h in heights.items()}
    return _process(in_frame, error**2 + tooth.step_mm**2 / 12, between)


def _process(values: dict[int, float], variance: float, between: float) -> Gaussian:
    """A periodic Gaussian process with a vague mean (SD 5 about the mean of the readings)."""
    at = list(values)
    y = np.array(list(values.values()))
    rows = np.eye(M)[at]
    start = Gaussian(mean=np.full(M, y.mean()), covariance=25.0 + between**2 * kernel())
    return start.given(rows, y, np.full(len(at), variance))


def _own_height(tooth: Tooth, crest: Floats, rng: Generator) -> Floats:
    """Population 3.45 (3.87 between the teeth), SD 0.7 of which 0.3 along the neck; a healthy site shows its own to 0.05 mm."""
    before = Gaussian(mean=3.45 + 0.42 * np.sin(np.deg2rad(THETA)) ** 2, covariance=0.4 + 0.09 * kernel())
    x = before.draws(crest.shape[1], rng)
    at = [k for k, depth in tooth.probing.items() if tooth.healthy and depth <= 3]
    if not at:
        return x
    rows = np.eye(M)[at]
    gain = np.linalg.solve(rows @ before.covariance @ rows.T + 0.05**2 * np.eye(len(at)), rows @ before.covariance).T
    shown = crest[at] - 0.05 * rng.standard_normal((len(at), crest.shape[1]))
    return x + gain @ (shown - x[at])


def _raise(factors: dict[str, float], probability: dict[str, float], count: int) -> dict[str, float]:
    raised = dict(factors)
    for name, p in probability.items():
        q = confidence(name)
        if p < q:
            missing = norm.ppf(q) - norm.ppf(max(p, 1 / count))
            raised[name] = factors.get(name, 1) * min(1 + 0.5 * missing, 2)
    return raised


def _standing(probability: dict[str, float], count: int) -> list[float]:
    """Return how far each rule lies under its confidence, the worst first: of tries as bad, the next worst decides."""
    clipped = {name: min(max(p, 1 / count), 1 - 1 / count) for name, p in probability.items()}
    return sorted(min(float(norm.ppf(p) - norm.ppf(confidence(name))), 0.0) for name, p in clipped.items())
