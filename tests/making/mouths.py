"""Simulated mouths with known truth, stated apart from the model they test: two neighbouring teeth, then readings of one.

Three populations:

- `prior`: the population the levels are built for (a sum of independent parts of person, tooth, sites and embrasures).
- `charts`: published figures of open six-site charts (148 people, 23,874 sites): means by site and tooth class, variance 0.20
  between people and 0.26 between sites, of which 0.09 is the error of reading, correlations round a tooth and across an
  embrasure; margin to crest 3.45 mm in the middle of a side and 3.87 between the teeth, SD about 0.7.
- `wrong`: on purpose another world: tails of Student's t with 3 degrees of freedom, a probe that reads 0.3 mm deep, one
  sounding in five far off.

Angles round the neck every 10 degrees: 0 facial, 90 mesial, 180 oral, 270 distal. Depths below the margin of the same station,
positive apically; heights positive coronally. [mm]
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

from tests.making.soundings import ELSEWHERE, FAILING_UPPER_FRONT, Shares, sounding_errors_mm

Floats = NDArray[np.float64]
Population = Literal["prior", "charts", "wrong"]
POPULATIONS: tuple[Population, ...] = ("prior", "charts", "wrong")

SITES: Mapping[str, int] = {"F": 0, "MF": 60, "ML": 120, "L": 180, "DL": 240, "DF": 300}
STATIONS_DEG: Floats = np.arange(0.0, 360.0, 10.0)
AT_SITES = np.array(list(SITES.values())) // 10
NUMBERS = tuple(10 * quadrant + place for quadrant in (1, 2, 3, 4) for place in range(1, 8))

READING_ERROR_MM = 0.4
LONGEST_READING_MM = 15.0
READING_ERROR_BETWEEN_BACK_TEETH_MM = 0.5
CHART_ERROR_VARIANCE_MM2 = 0.09
PROBE_BIAS_WRONG_MM = 0.3
ONE_IN_FIVE_FAR = Shares(near_short=0.04, near_long=0.007, far_short=0.15, far_long=0.05)

CLASS_MEAN_MM = {1: 1.68, 2: 1.70, 3: 1.79, 4: 1.97, 5: 1.97, 6: 2.27, 7: 2.27}
ALL_CLASSES_MEAN_MM = 1.95
CLASS_VARIANCE_MM2 = 0.052  # of the means above over 28 teeth
SITE_MEAN_MM = np.array([1.40, 2.22, 2.16, 1.44, 2.21, 2.26])  # in the order of SITES
CHART_VARIANCE_MM2 = 0.35  # between teeth 0.09 and between sites of a tooth 0.26
# Correlation round a tooth: ML-DL, MF-DF and L with its neighbours are published; the others follow from the published means of
# next (0.32), next but one (0.28) and opposite (0.26) sites.
ROUND_A_TOOTH = np.array(
    [
        [1.000, 0.285, 0.2025, 0.260, 0.2025, 0.285],
        [0.285, 1.000, 0.285, 0.2025, 0.260, 0.380],
        [0.2025, 0.285, 1.000, 0.390, 0.490, 0.260],
        [0.260, 0.2025, 0.390, 1.000, 0.390, 0.2025],
        [0.2025, 0.260, 0.490, 0.390, 1.000, 0.285],
        [0.285, 0.380, 0.260, 0.2025, 0.285, 1.000],
    ]
)
EMBRASURE_FACIAL, EMBRASURE_ORAL, ELSEWHERE_NEXT_TOOTH = 0.62, 0.68, 0.20  # the last: choice


@dataclass(frozen=True, slots=True, kw_only=True)
class Truth:
    """What is really there round one tooth, (36,) each. [mm]"""

    sulcus_mm: Floats
    attachment_mm: Floats
    tip_beyond_mm: Floats
    own_height_mm: Floats
    sound_edge_mm: Floats
    occlusal_edge_mm: Floats
    mucogingival_mm: Floats

    @property
    def crest_depth_mm(self) -> Floats:
        """Margin to crest."""
        return np.asarray(self.sulcus_mm + self.attachment_mm)


@dataclass(frozen=True, slots=True, kw_only=True)
class Mouth:
    """A case document with one tooth, the truth behind it, and which soundings (6,) were made far off.

    `step_mm` of its readings, which stand at the sites (6,). A practice takes a sounding shallower than the probing again,
    and a case file with one is refused: such mouths are not `plausible`.
    """

    document: dict[str, object]
    truth: Truth
    far_off: NDArray[np.bool_]
    step_mm: float
    probing_mm: Floats
    sounding_mm: Floats

    @property
    def plausible(self) -> bool:
        """Whether no sounding is shallower than the probing at its site."""
        return bool(np.all(self.sounding_mm >= self.probing_mm))


@dataclass(frozen=True, slots=True, kw_only=True)
class Necks:
    """Truth of two neighbouring teeth in `n` mouths, (n, 2, 36); the first's distal side faces the second's mesial."""

    sulcus_mm: Floats
    attachment_mm: Floats
    tip_beyond_mm: Floats
    overgrown_mm: Floats


def make_mouths(population: Population, count: int, rng: Generator, *, overgrown: bool = False) -> list[Mouth]:
    """Return `count` mouths of a population; `overgrown`: a false pocket round the tooth, else it is healthy."""
    numbers = rng.choice(NUMBERS, count)
    necks = make_necks(population, numbers, rng, overgrown=overgrown)
    return [_read(population, int(number), necks, i, rng, overgrown=overgrown) for i, number in enumerate(numbers)]


def make_necks(population: Population, numbers: NDArray[np.int64], rng: Generator, *, overgrown: bool = False) -> Necks:
    """Return the true necks of `numbers.size` mouths."""
    count = numbers.size
    beyond = 0.65 + 0.30 * _smooth(count * 2, rng).reshape(count, 2, 36)
    if population == "prior":
        sulcus = 1.25 + 0.42 * _between_teeth() + _prior_sulcus(count, rng)
        attachment = 2.20 + _prior_attachment(count, rng)
    else:
        tails = 3 if population == "wrong" else None
        away = _along_the_neck(_chart_sites(count, rng, tails)) + rng.normal(0, np.sqrt(0.20), (count, 1, 1))
        away = away + _lost_between_sites_mm() * _smooth(count * 2, rng, tails).reshape(count, 2, 36)
        classes = np.array([CLASS_MEAN_MM[int(number) % 10] for number in numbers]) - ALL_CLASSES_MEAN_MM
        probed = np.maximum(_along_the_neck(SITE_MEAN_MM[None, None]) + classes[:, None, None] + away, 0.3)
        sulcus = np.maximum(probed - beyond, 0.2)
        beyond = probed - sulcus  # the chart fixes the depth of the tip: over a shallow floor it passes by less
        # Margin to crest follows the depth (correlation of the readings 0.79, read) and has SD 0.7 in all.
        rest = np.sqrt(0.07) * _tailed((count, 1, 1), tails, rng) + np.sqrt(0.126) * _smooth(count * 2, rng, tails).reshape(
            count, 2, 36
        )
        crest = 3.45 + 0.42 * _between_teeth() + 0.8 * away + rest
        attachment = crest - sulcus
    sulcus, attachment = np.maximum(sulcus, 0.2), np.maximum(attachment, 0.8)
    false_pocket = _false_pocket(population, sulcus, rng) if overgrown else np.zeros_like(sulcus)
    return Necks(
        sulcus_mm=sulcus + false_pocket,
        attachment_mm=attachment,
        tip_beyond_mm=np.clip(beyond, 0, attachment),
        overgrown_mm=false_pocket,
    )


def chart_depths_mm(population: Population, numbers: NDArray[np.int64], rng: Generator) -> Floats:
    """Return (n, 2, 6) depths at the sites as a chart of healthy teeth shows them: with its reading error, not rounded.

    The variances of `prior` are those of charts, with the probe tip's own spread in them and no floor under them: so here.
    """
    if population == "prior":
        depths = 1.25 + 0.65 + 0.42 * _between_teeth() + _prior_sulcus(numbers.size, rng)
    else:
        necks = make_necks(population, numbers, rng)
        depths = necks.sulcus_mm + necks.tip_beyond_mm
    at_sites = depths[:, :, AT_SITES]
    return np.asarray(at_sites + rng.normal(0, np.sqrt(CHART_ERROR_VARIANCE_MM2), at_sites.shape))


def _prior_sulcus(count: int, rng: Generator) -> Floats:
    """Independent parts; the embrasure between the two teeth is one deviate a side."""

    def normal(*shape: int) -> Floats:
        return rng.standard_normal((count, *shape, 1))

    person, first = normal(1), normal(1)
    second = 0.9 * first + np.sqrt(1 - 0.9**2) * normal(1)
    away = np.sqrt(0.20) * person + np.sqrt(0.08) * np.concatenate([first, second], axis=1)
    away = away + np.sqrt(0.03) * normal(2) * (_near(60) + _near(300)) + np.sqrt(0.07) * normal(2) * (_near(120) + _near(240))
    away += np.sqrt(0.12) * (normal(2) * _near(0) + normal(2) * _near(180))
    away += np.sqrt(0.01) * normal(2) * (1 - np.cos(np.deg2rad(STATIONS_DEG))) / 2
    for variance, mesial, distal in ((0.14, 60, 300), (0.15, 120, 240)):
        outer, between, other = normal(1), normal(1), normal(1)
        first_tooth = outer * _near(mesial) + between * _near(distal)
        second_tooth = between * _near(mesial) + other * _near(distal)
        away += np.sqrt(variance) * np.concatenate([first_tooth, second_tooth], axis=1)
    return np.asarray(away)


def _prior_attachment(count: int, rng: Generator) -> Floats:
    person = np.sqrt(0.10) * rng.standard_normal((count, 1, 1))
    return np.asarray(person + np.sqrt(0.08) * _smooth(count * 2, rng).reshape(count, 2, 36))


def _false_pocket(population: Population, sulcus_mm: Floats, rng: Generator) -> Floats:
    """What stands above the healthy margin: as believed, of the necks that can be; or 1 to 4 mm as seen in practice."""
    count = sulcus_mm.shape[0]
    if population != "prior":
        along = _smooth(count * 2, rng).reshape(count, 2, 36)
        return np.asarray(np.maximum(rng.uniform(1, 4, (count, 2, 1)) + 0.5 * along, 0))
    pocket = np.full((count * 2, 36), -np.inf)
    healthy = sulcus_mm.reshape(count * 2, 36)
    while (impossible := np.any(healthy + pocket < 0.2, axis=1)).any():
        left = int(impossible.sum())
        pocket[impossible] = (
            1.5 * rng.standard_normal((left, 1)) + np.sqrt(0.75) * _smooth(left, rng, length=1.0) + 0.5 * _smooth(left, rng)
        )
    return pocket.reshape(sulcus_mm.shape)


def _chart_sites(count: int, rng: Generator, tails: int | None) -> Floats:
    """Return (count, 2, 6) true deviations at the sites of two neighbouring teeth, person and class left out."""
    covariance = CHART_VARIANCE_MM2 * _two_teeth() - CLASS_VARIANCE_MM2 - CHART_ERROR_VARIANCE_MM2 * np.eye(12)
    values, vectors = np.linalg.eigh(covariance)
    root = vectors * np.sqrt(np.maximum(values, 0))
    return np.asarray((_tailed((count, 12), tails, rng) @ root.T).reshape(count, 2, 6))


def _two_teeth() -> Floats:
    across = np.full((6, 6), ELSEWHERE_NEXT_TOOTH)
    order = list(SITES)
    across[order.index("DF"), order.index("MF")] = EMBRASURE_FACIAL
    across[order.index("DL"), order.index("ML")] = EMBRASURE_ORAL
    return np.block([[ROUND_A_TOOTH, across], [across.T, ROUND_A_TOOTH]])


def _along_the_neck(at_sites: Floats) -> Floats:
    """Return (..., 36) from values at the six sites, by half cosines between them: no overshoot."""
    position = STATIONS_DEG / 60
    left = np.floor(position).astype(int)
    share = (1 - np.cos(np.pi * (position - left))) / 2
    return np.asarray((1 - share) * at_sites[..., left % 6] + share * at_sites[..., (left + 1) % 6])


def _lost_between_sites_mm() -> Floats:
    """Return (36,) the SD that a curve through the sites lacks between them, so that places there vary as much as sites do."""
    share = (1 - np.cos(np.pi * (STATIONS_DEG / 60 % 1))) / 2
    variance = CHART_VARIANCE_MM2 - CLASS_VARIANCE_MM2 - CHART_ERROR_VARIANCE_MM2
    next_site = (0.32 * CHART_VARIANCE_MM2 - CLASS_VARIANCE_MM2) / variance  # correlation with the next site
    return np.asarray(np.sqrt(variance * 2 * share * (1 - share) * (1 - next_site)))


def _between_teeth() -> Floats:
    return np.asarray(np.sin(np.deg2rad(STATIONS_DEG)) ** 2)


def _near(angle_deg: float) -> Floats:
    return np.asarray(np.exp(4 * (np.cos(np.deg2rad(STATIONS_DEG - angle_deg)) - 1)))


def _smooth(count: int, rng: Generator, tails: int | None = None, *, length: float = 0.5) -> Floats:
    """Return (count, 36) smooth curves round the neck, variance 1, correlation exp(-2 sin2(D/2) / length^2)."""
    half = np.deg2rad(STATIONS_DEG[:, None] - STATIONS_DEG) / 2
    covariance = np.exp(-2 * np.sin(half) ** 2 / length**2)
    root = np.linalg.cholesky(covariance + 1e-8 * np.eye(36))
    return np.asarray(_tailed((count, 36), tails, rng, shared=True) @ root.T)


def _tailed(shape: tuple[int, ...], tails: int | None, rng: Generator, *, shared: bool = False) -> Floats:
    """Return normals, or with `tails` Student deviates of the same variance, one size a row where `shared`."""
    normal = rng.standard_normal(shape)
    if tails is None:
        return np.asarray(normal)
    size = rng.chisquare(tails, (shape[0], *([1] * (len(shape) - 1))) if shared else shape)
    return np.asarray(normal * np.sqrt((tails - 2) / np.maximum(size, 0.05)))


def _read(population: Population, number: int, necks: Necks, mouth: int, rng: Generator, *, overgrown: bool) -> Mouth:
    truth = _truth(necks, mouth, rng)
    step = float(rng.choice([0.5, 1.0]))
    back = number % 10 >= 4
    between = np.array([site not in ("F", "L") for site in SITES])
    error = np.where(between & back, READING_ERROR_BETWEEN_BACK_TEETH_MM, READING_ERROR_MM)
    bias = PROBE_BIAS_WRONG_MM if population == "wrong" else 0.0
    probed = (truth.sulcus_mm + truth.tip_beyond_mm)[AT_SITES]
    probing = _rounded(np.clip(probed + bias + rng.normal(0, error), 0, LONGEST_READING_MM), step)
    far = _sounding_errors(population, number, rng)
    sounded = truth.crest_depth_mm[AT_SITES] + far + rng.normal(0, READING_ERROR_MM, 6)
    sounding = _rounded(np.clip(sounded, 0.5, LONGEST_READING_MM), step)
    heights = {
        "crown_height": truth.occlusal_edge_mm[AT_SITES] + rng.normal(0, 0.25, 6),
        "sound_height": truth.sound_edge_mm[AT_SITES] + rng.normal(0, 0.25, 6),
        "keratinised_width": np.maximum(-truth.mucogingival_mm[AT_SITES] + rng.normal(0, 0.5, 6), 0),
    }
    tooth = {
        "number": number,
        "role": "crown",
        "vital": True,
        "sound_measured": True,
        "state": "overgrown" if overgrown else "healthy",
        "sites": {
            "order": list(SITES),
            "step": step,
            "probing_depth": _by_site(probing),
            "bone_sounding": _by_site(sounding),
            **{kind: _by_site(_rounded(values, step)) for kind, values in heights.items()},
        },
        "restoration": {"occlusal_reduction_mm": 1.5, "finish": {"position": "supragingival", "mm": 0.0}},
    }
    if overgrown:
        tooth["overgrowth"] = {"cause": "drug", "controlled_since": "2026-01-15"}
    document = {"format": "collum-case/1", "invented": True, "patient": {"reference": f"SIM-{mouth}"}, "teeth": [tooth]}
    return Mouth(
        document=document, truth=truth, far_off=np.abs(far) > 1, step_mm=step, probing_mm=probing, sounding_mm=sounding
    )


def _truth(necks: Necks, mouth: int, rng: Generator) -> Truth:
    """The first tooth of a mouth, with edges and mucogingival junction of its own (choice: whatever makes varied cases)."""
    relief, edge, junction = _smooth(3, rng)
    margin = -_between_teeth()  # the margin stands about 1 mm nearer to the edge between the teeth
    crown = rng.uniform(4, 8) + margin + 0.3 * relief
    sound = crown - rng.uniform(0.5, 5) + 0.4 * edge - rng.uniform(0, 2) * _near(float(rng.choice(STATIONS_DEG)))
    crest = necks.sulcus_mm[mouth, 0] + necks.attachment_mm[mouth, 0]
    return Truth(
        sulcus_mm=necks.sulcus_mm[mouth, 0],
        attachment_mm=necks.attachment_mm[mouth, 0],
        tip_beyond_mm=necks.tip_beyond_mm[mouth, 0],
        own_height_mm=crest - necks.overgrown_mm[mouth, 0],
        sound_edge_mm=np.minimum(sound, crown),
        occlusal_edge_mm=crown,
        mucogingival_mm=-(rng.uniform(3, 8) + 0.7 * junction),
    )


def _sounding_errors(population: Population, number: int, rng: Generator) -> Floats:
    """Return (6,) how far each sounding is off beyond the small error of the hand."""
    upper_front = number // 10 in (1, 2) and number % 10 <= 3
    facial = np.array([site in ("F", "MF", "DF") for site in SITES])
    if population == "wrong":
        return sounding_errors_mm(ONE_IN_FIVE_FAR, 6, rng)
    at_front, elsewhere = (sounding_errors_mm(shares, 6, rng) for shares in (FAILING_UPPER_FRONT, ELSEWHERE))
    return np.where(facial & upper_front, at_front, elsewhere)


def _rounded(values_mm: Floats, step_mm: float) -> Floats:
    return np.asarray(np.round(values_mm / step_mm) * step_mm + 0.0)  # never a negative zero


def _by_site(values_mm: Floats) -> dict[str, float]:
    return {site: float(mm) for site, mm in zip(SITES, values_mm, strict=True)}
