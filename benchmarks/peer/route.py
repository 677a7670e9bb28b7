"""The route soft tissue only: draws, programme, simulation and verdicts. Heights from the margin, coronal positive. [mm]"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.random import Generator
from scipy.integrate import quad
from scipy.stats import norm

from benchmarks.peer.levels import THETA, Floats, Gaussian, M, Tooth, draw, kernel
from collum.evidence import value

CONFIDENCE = {"clear_of_bone": 0.99}
RESERVE_FACTOR = 1.45
BEVEL_MM = 1.1  # phenotype unknown at 45 degrees; the palate counts as thick, 1.4


@dataclass(frozen=True, slots=True, kw_only=True)
class Draws:
    """(36, n) each, but the share of the way back (n,)."""

    sulcus: Floats
    attachment: Floats
    own_height: Floats
    share: Floats
    noise: Floats
    edge: Floats
    sound: Floats
    junction: Floats

    @property
    def crest(self) -> Floats:
        return self.sulcus + self.attachment

    def one(self, j: int) -> "Draws":
        """The draw number j alone, (36, 1)."""
        cut = slice(j, j + 1)
        return Draws(
            sulcus=self.sulcus[:, cut],
            attachment=self.attachment[:, cut],
            own_height=self.own_height[:, cut],
            share=self.share[cut],
            noise=self.noise[:, cut],
            edge=self.edge[:, cut],
            sound=self.sound[:, cut],
            junction=self.junction[:, cut],
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Statement:
    """The programme in plain bounds: minimise sum c^2 + 0.2 sum (f - aim)^2 + 2 bending of both lines in the tooth frame.

    Bounds: cut_low <= c <= 0, finish_low <= f <= finish_high, f - c >= gap.
    """

    cut_low: Floats
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
    """Return lines, chances and verdicts from readings: solve, simulate, raise the reserve of what misses, at most twice."""
    draws = draw_all(tooth, count, rng)
    found = _tries(tooth, draws, solver, simulate, bone_quantile=float(norm.ppf(0.99)))
    if found.probability.get("clear_of_bone", 1) >= 0.99:
        return found
    away = (draws.crest.mean(axis=1, keepdims=True) - draws.crest) / draws.crest.std(axis=1, keepdims=True)
    nearest = float(np.quantile(away.max(axis=0), 0.99, method="higher"))
    return _tries(tooth, draws, solver, simulate, bone_quantile=nearest)


def _tries(tooth: Tooth, draws: Draws, solver: Solver, simulate: Simulate, *, bone_quantile: float) -> Answer:
    margin, arc, count = margin_mm(tooth), perimeter_mm(tooth) / M, draws.share.size
    factors: dict[str, float] = {}
    tried = []
    for _ in range(3):
        cut, finish = solver(statement(tooth, draws, factors, margin=margin, arc_mm=arc, bone_quantile=bone_quantile))
        least = simulate(tooth, draws, cut, finish)
        probability = {name: float(np.mean(reserve >= 0)) for name, reserve in least.items()}
        tried.append((_standing(probability, count), cut, finish, least, probability))
        raised = _raise(factors, probability, count)
        if raised == factors:
            break
        factors = raised
    best = max(tried, key=lambda entry: entry[0])
    _, cut, finish, least, probability = best
    verdict = {name: verdict_of(probability[name], reserve, confidence(name)) for name, reserve in least.items()}
    return Answer(cut=cut, finish=finish, probability=probability, verdict=verdict)


def draw_all(tooth: Tooth, count: int, rng: Generator) -> Draws:
    """Return all that varies, before any line is chosen."""
    sulcus, attachment = draw(tooth, count, rng)
    crest = sulcus + attachment
    margin = margin_mm(tooth)
    tail = np.sqrt(3 / rng.chisquare(5, count))
    return Draws(
        sulcus=sulcus,
        attachment=attachment,
        own_height=np.maximum(_own_height(tooth, crest, rng), attachment + 0.5),
        share=1 - 0.4 * rng.beta(1, 3, count),
        noise=Gaussian(mean=np.zeros(M), covariance=kernel()).draws(count, rng) * tail,
        edge=_line(tooth, tooth.crown_height, 0.25, 0.4, margin).draws(count, rng) - margin[:, None],
        sound=_line(tooth, tooth.sound_height, 0.25, 0.5, margin).draws(count, rng) - margin[:, None],
        junction=_line(tooth, {k: -w for k, w in tooth.keratinised_width.items()}, 0.5, 0.7, margin).draws(count, rng)
        - margin[:, None],
    )


def statement(
    tooth: Tooth,
    draws: Draws,
    factors: dict[str, float],
    *,
    margin: Floats,
    arc_mm: float,
    bone_quantile: float = float(norm.ppf(0.99)),
) -> Statement:
    """Return the programme's bounds: means with reserves, and where they cross the largest share of the reserves that fits."""

    def bound(name: str, sample: Floats, above: Floats | float) -> tuple[Floats, Floats]:
        quantile = bone_quantile if name == "clear_of_bone" else RESERVE_FACTOR * norm.ppf(confidence(name))
        return sample.mean(axis=1) + above, factors.get(name, 1) * quantile * sample.std(axis=1)

    depths = [
        bound("no_attachment_cut", -draws.sulcus, 0),
        bound("clear_of_bone", -draws.crest, 1.0 + bevel_mm(tooth)),
        bound("keratinised_tissue_left", draws.junction, bevel_mm(tooth) + 2.0),
    ]
    cut_low = np.minimum(np.max([mean + reserve for mean, reserve in depths], axis=0), 0)
    rest = np.minimum(draws.own_height - draws.crest, 0)
    low_mm = max(tooth.low_mm, -sulcus_limit_mm(draws))
    by_chance = factors.get("definitive_finish_line", 1) * RESERVE_FACTOR * norm.ppf(0.90) * 0.20  # what a margin moves
    below = [
        bound("clear_of_crest", _lowest(draws), 0),
        bound("definitive_finish_line", rest, low_mm),
        (cut_low + low_mm, np.full(M, by_chance)),
    ]
    above = [
        bound("ferrule", draws.sound, -2.0),
        bound("preparation_height", draws.edge, -tooth.reduction_mm - max(height_mm(tooth), 2.0)),
    ]
    share, lacking = np.ones(M), np.zeros(M)
    for (top, r_top), (bottom, r_bottom) in [(a, b) for a in above for b in below]:
        share = np.minimum(share, np.maximum(top - bottom, 0) / np.maximum(r_top + r_bottom, 1e-300))
        lacking = np.maximum(lacking, bottom - top)
    low = np.max([mean + share * reserve for mean, reserve in below], axis=0)
    high = np.min([mean - share * reserve for mean, reserve in above], axis=0) + lacking
    wished = max(low_mm, 0) if tooth.high_mm is None else (low_mm + tooth.high_mm) / 2
    return Statement(
        cut_low=cut_low,
        finish_low=low,
        finish_high=np.maximum(low, high),
        gap=low_mm + share * by_chance,
        aim=rest.mean(axis=1) + wished,
        margin=margin,
        arc_mm=arc_mm,
    )


def simulate_vectorised(tooth: Tooth, draws: Draws, cut: Floats, finish: Floats) -> dict[str, Floats]:
    """Return the least reserve (n,) of every requirement, all draws at once."""
    is_cut = cut < -0.05
    outer = (cut - bevel_mm(tooth))[:, None]
    least = {}
    if is_cut.any():
        least["no_attachment_cut"] = _smooth(cut[:, None] + draws.sulcus)[is_cut].min(axis=0)
        least["clear_of_bone"] = (outer + draws.crest - 1.0)[is_cut].min(axis=0)
        least["keratinised_tissue_left"] = _smooth(outer - draws.junction - 2.0)[is_cut].min(axis=0)
    top = draws.edge - tooth.reduction_mm
    least["clear_of_crest"] = _smooth(finish[:, None] - _lowest(draws)).min(axis=0)
    least["preparation_height"] = _smooth(top - finish[:, None] - height_mm(tooth)).min(axis=0)
    least["ferrule"] = _over_arc(tooth, np.minimum(draws.sound, top) - finish[:, None] - 2.0)
    highest = np.minimum(np.minimum(draws.sound, top) - 2.0, top - height_mm(tooth))
    low_mm = max(tooth.low_mm, -0.5)
    runs = []
    for share in (draws.share, None):
        settled = _settled(draws, cut, share)
        runs.append(_over_arc(tooth, highest - np.maximum(_lowest(draws), settled + low_mm)))
    least["definitive_finish_line"] = min(runs, key=lambda reserve: float(np.mean(reserve >= 0)))
    return least


def simulate_in_a_loop(tooth: Tooth, draws: Draws, cut: Floats, finish: Floats) -> dict[str, Floats]:
    """Return the same, one draw after the other, as it is first written."""
    count = draws.share.size
    found = [simulate_vectorised(tooth, draws.one(j), cut, finish) for j in range(count)]
    return {name: np.array([float(one[name][0]) for one in found]) for name in found[0]}


def confidence(name: str) -> float:
    return CONFIDENCE.get(name, 0.90)


def height_mm(tooth: Tooth) -> float:
    return 4.0 if tooth.number % 10 >= 6 else 3.0


def bevel_mm(tooth: Tooth) -> Floats:
    palate = (tooth.number // 10 in (1, 2)) & (THETA > 90) & (THETA < 270)
    return np.where(palate, 1.4, BEVEL_MM)


def sulcus_limit_mm(draws: Draws) -> float:
    settled = np.minimum(draws.sulcus, draws.own_height - draws.attachment)
    return 0.7 if np.mean(settled > 1.5) >= 0.5 else 0.5


def margin_mm(tooth: Tooth) -> Floats:
    """Return (36,) the margin in the tooth frame: a level edge one handbook crown above z = 0, the handbook scallop between."""
    curvature = np.where(THETA < 180, _handbook(tooth, "curvature_mesial_mm"), _handbook(tooth, "curvature_distal_mm"))
    scallop = curvature * np.sin(np.deg2rad(THETA)) ** 2
    at = list(tooth.crown_height)
    if not at:
        return scallop
    heights = _handbook(tooth, "crown_length_mm") - np.array(list(tooth.crown_height.values()))
    away = _process({k: h - scallop[k] for k, h in zip(at, heights, strict=True)}, 0.1**2, 0.4)
    return scallop + away.mean


def perimeter_mm(tooth: Tooth) -> float:
    facial, mesial = _handbook(tooth, "bl_cervix_mm") / 2, _handbook(tooth, "md_cervix_mm") / 2
    return float(quad(lambda t: np.hypot(facial * np.sin(t), mesial * np.cos(t)), 0, 2 * np.pi)[0])


def _handbook(tooth: Tooth, name: str) -> float:
    arch = "upper" if tooth.number // 10 in (1, 2) else "lower"
    return value(f"tooth.{arch}{tooth.number % 10}.{name}")


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


def _settled(draws: Draws, cut: Floats, share: Floats | None) -> Floats:
    """Where the margin comes to rest: a share of the way back to the own height, or with None all of it and no recession.

    Recession and noise fade in over 0.5 mm of cut.
    """
    distance = cut[:, None] + draws.crest
    fade = np.minimum(-cut[:, None] / 0.5, 1)
    if share is None:
        back = np.clip(draws.own_height - distance, 0, draws.own_height)
    else:
        back = np.clip(share * (draws.own_height - distance), -0.30, share * draws.own_height)
        back = np.where(back < 0, back * fade, back)
    back = back + fade * draws.noise * (0.20 + 0.30 * np.maximum(2 - distance, 0))
    return np.asarray(np.minimum(cut[:, None] + back, 0))


def _lowest(draws: Draws) -> Floats:
    """The lowest place a finish line may have over the crest."""
    return -draws.crest + np.maximum(2.5, np.maximum(draws.attachment, 2.0) + 0.5)


def _smooth(x: Floats) -> Floats:
    return 0.625 * x + 0.1875 * (np.roll(x, 1, axis=0) + np.roll(x, -1, axis=0))


def _over_arc(tooth: Tooth, reserve: Floats) -> Floats:
    """The smaller of what is exceeded over 270 degrees and the least within 30 degrees of the loaded sides."""
    smooth = _smooth(reserve)
    sides = [180] if tooth.upper_front else [0, 180]
    loaded = np.any([np.abs((THETA - side + 180) % 360 - 180) <= 30 for side in sides], axis=0)
    return np.minimum(np.sort(smooth, axis=0)[M // 4], smooth[loaded].min(axis=0))


def _raise(factors: dict[str, float], probability: dict[str, float], count: int) -> dict[str, float]:
    raised = dict(factors)
    for name, p in probability.items():
        q = confidence(name)
        if p < q:
            missing = norm.ppf(q) - norm.ppf(max(p, 1 / count))
            raised[name] = factors.get(name, 1) * min(1 + 0.5 * missing, 2)
    return raised


def _standing(probability: dict[str, float], count: int) -> float:
    clipped = {name: min(max(p, 1 / count), 1 - 1 / count) for name, p in probability.items()}
    return min(min(float(norm.ppf(p) - norm.ppf(confidence(name))) for name, p in clipped.items()), 0.0)


def verdict_of(probability: float, reserve: Floats, asked: float) -> str:
    """Return kept, in doubt or short."""
    if probability >= asked:
        return "kept"
    return "short" if np.median(reserve) < 0 else "in doubt"
