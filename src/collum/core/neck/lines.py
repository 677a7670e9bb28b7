"""Lines that were read directly at sites: sound edge, occlusal edge, mucogingival junction, cemento-enamel junction.

Each is a smooth periodic curve of unknown mean height, known at the sites up to the error of the reading and freer between
them. Heights in the frame the caller chooses, coronal positive. [mm]
A sound edge may step down, where a box or a fracture ends sharply: the smooth line fills a step in.
"""

from collections import defaultdict
from dataclasses import dataclass

import numpy as np
from numpy.random import Generator

from collum.core.neck.gaussian import Normals
from collum.core.ring import STATIONS, STATIONS_DEG, Floats, ring_features
from collum.evidence.handed import NeckPriors


@dataclass(frozen=True, slots=True, kw_only=True)
class LineReading:
    """One height at an angle; `error_mm` without rounding. `below`: the line is apical of `height_mm`, how far is unknown."""

    theta_deg: float
    height_mm: float
    step_mm: float
    error_mm: float
    below: bool = False

    @property
    def variance_mm2(self) -> float:
        """Variance with rounding to the step (uniform: step squared over 12)."""
        return self.error_mm**2 + self.step_mm**2 / 12


@dataclass(frozen=True, slots=True, kw_only=True)
class LinePosterior:
    """A line after its readings, as normals over fixed features."""

    normals: Normals
    between_sd_mm: float
    centre_mm: float
    priors: NeckPriors

    def mean_mm(self, theta_deg: Floats) -> Floats:
        """Return the mean height (m,)."""
        return np.asarray(self.centre_mm + _features(theta_deg, self.between_sd_mm, self.priors) @ self.normals.mean)

    def sd_mm(self, theta_deg: Floats) -> Floats:
        """Return the standard deviation of the height (m,)."""
        features = _features(theta_deg, self.between_sd_mm, self.priors)
        return np.asarray(np.sqrt(np.einsum("mk,kl,ml->m", features, self.normals.covariance, features)))

    def draws_mm(self, theta_deg: Floats, count: int, rng: Generator) -> Floats:
        """Return (m, count) draws of the height."""
        z = self.normals.draws(rng.standard_normal((self.normals.mean.size, count)))
        return np.asarray(self.centre_mm + _features(theta_deg, self.between_sd_mm, self.priors) @ z)


def line_posterior(readings: tuple[LineReading, ...], between_sd_mm: float, priors: NeckPriors) -> LinePosterior:
    """Return the line after its readings.

    Parameters
    ----------
    readings : tuple of LineReading
        Heights at angles [mm, deg], at least one.
    between_sd_mm : float
        Standard deviation of the line about its mean height between the sites [mm].
    priors : NeckPriors
        Vagueness of the mean height [mm] and length of the periodic kernel.

    Returns
    -------
    LinePosterior
        Normals (14,) over fixed features, from which mean, standard deviation and draws follow [mm].

    Raises
    ------
    ValueError
        Without any reading: nothing is known then.

    Source
    ------
    Derived: one constant and the features of `ring_features`; Rasmussen and Williams 2006, eq. 2.11, in weight space.

    Examples
    --------
    Read at two sites; half-way between them the doubt is greater.

    >>> from collum.evidence import all_constants
    >>> from collum.evidence.handed import evidence_of
    >>> priors = evidence_of(all_constants()).neck
    >>> sites = ((0, 1.0), (180, 2.0))
    >>> read = tuple(LineReading(theta_deg=at, height_mm=height, step_mm=0.5, error_mm=0.2) for at, height in sites)
    >>> line = line_posterior(read, 0.5, priors)
    >>> line.mean_mm(np.array([0.0, 90])).round(1).tolist(), line.sd_mm(np.array([0.0, 90])).round(1).tolist()
    ([1.1, 1.5], [0.2, 0.6])
    """
    if not readings:
        raise ValueError("a line needs at least one reading")
    centre = float(np.mean([r.height_mm for r in readings]))
    features = _features(np.array([r.theta_deg for r in readings]), between_sd_mm, priors)
    residual = np.array([r.height_mm for r in readings]) - centre
    variance = np.array([r.variance_mm2 for r in readings])
    exact = np.array([not r.below for r in readings])
    normals = Normals.standard(features.shape[1]).given(features[exact], residual[exact], variance[exact])
    for i in np.flatnonzero(~exact):
        normals = normals.given_beyond(-features[i], -float(residual[i]), float(variance[i]))
    return LinePosterior(normals=normals, between_sd_mm=between_sd_mm, centre_mm=centre, priors=priors)


def stepped_mm(edge_mm: Floats, readings: tuple[LineReading, ...]) -> Floats:
    """Return draws of an edge with every step as deep as it was read.

    At a site that was read the mean edge is no higher than the reading. Each reading reaches half-way to the next, the lower
    one as far as that place too. What a reading reaches is level along the tooth, so the frame is that of the tooth.

    Parameters
    ----------
    edge_mm : ndarray
        Draws (36, n) of the edge at the stations [mm].
    readings : tuple of LineReading
        What was read of it [mm, deg], at least one; several at one site count as their mean.

    Returns
    -------
    ndarray
        The draws (36, n), lowered by one amount at each station, so with the spread they had [mm].

    Raises
    ------
    ValueError
        Without any reading.

    Source
    ------
    A choice, towards less tooth: what is between two readings is not known, and the lower one is taken.

    Examples
    --------
    A box read at 180 degrees, between readings at 90 and 270, is as deep from 135 to 225.

    >>> read = [(0, 2.0), (90, 2.0), (180, -1.0), (270, 2.0)]
    >>> readings = tuple(LineReading(theta_deg=at, height_mm=mm, step_mm=0.5, error_mm=0.2) for at, mm in read)
    >>> stepped_mm(np.full((36, 1), 2.0), readings)[[13, 14, 18, 22, 23], 0].tolist()
    [2.0, -1.0, -1.0, -1.0, 2.0]
    """
    if not readings:
        raise ValueError("a step needs at least one reading")
    filled_in_mm = np.maximum(edge_mm.mean(axis=1) - _read_at_most_mm(readings), 0)
    return np.asarray(edge_mm - filled_in_mm[:, None])


def _read_at_most_mm(readings: tuple[LineReading, ...]) -> Floats:
    """Return (36,) the reading that reaches to each station."""
    heights: dict[float, list[float]] = defaultdict(list)
    for reading in readings:
        heights[reading.theta_deg].append(reading.height_mm)
    angles = sorted(heights)
    read = [float(np.mean(heights[angle])) for angle in angles]
    highest = np.full(STATIONS, np.inf)
    for before, after in zip(range(-1, len(angles) - 1), range(len(angles)), strict=True):
        gap = (angles[after] - angles[before]) % 360 or 360
        away = (STATIONS_DEG - angles[before]) % 360  # from the one before
        first = away <= gap / 2 if read[before] <= read[after] else away < gap / 2
        between = away <= gap
        limit = np.where(first, read[before], read[after])
        highest[between] = np.minimum(highest[between], limit[between])
    return highest


def _features(theta_deg: Floats, between_sd_mm: float, priors: NeckPriors) -> Floats:
    vague = np.full((np.size(theta_deg), 1), priors.vague_mean_sd_mm)
    return np.concatenate([vague, between_sd_mm * ring_features(theta_deg, priors.ring_length)], axis=1)
