"""Readings as the levels model takes them, and how each kind errs."""

from dataclasses import dataclass

import numpy as np

from collum.evidence.handed import NeckPriors


@dataclass(frozen=True, slots=True, kw_only=True)
class DepthReading:
    """One depth below the gingival margin at an angle.

    `error_mm` is the standard deviation of the reading without rounding. `beyond`: the true depth is greater than `value_mm`.
    """

    theta_deg: float
    value_mm: float
    step_mm: float
    error_mm: float
    beyond: bool = False

    @property
    def variance_mm2(self) -> float:
        """Variance with rounding to the step (uniform: step squared over 12)."""
        return self.error_mm**2 + self.step_mm**2 / 12


@dataclass(frozen=True, slots=True, kw_only=True)
class SoundingReading(DepthReading):
    """A bone sounding; `facial_front`: facial side of an upper front tooth that needs treatment (more soundings far off)."""

    facial_front: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class SoundingKind:
    """One way a sounding can have come about: how often, and how it then errs."""

    name: str
    share: float
    bias_mm: float
    variance_mm2: float


def sounding_kinds(reading: SoundingReading, priors: NeckPriors) -> tuple[SoundingKind, SoundingKind, SoundingKind]:
    """Return the mixture of one sounding: met the crest, stopped far short of it, slid far past it.

    Parameters
    ----------
    reading : SoundingReading
        The sounding [mm]; `facial_front` selects the shares measured at failing upper front teeth.
    priors : NeckPriors
        Shares [1], biases and standard deviations [mm] of each kind.

    Returns
    -------
    tuple of 3 SoundingKind
        Right, short, long: shares that sum to 1, biases [mm] and variances [mm2].

    Source
    ------
    Shares and errors for failing upper front teeth [kan2017]; shares elsewhere are decisions [collum_decision].

    Examples
    --------
    >>> from collum.evidence import all_constants
    >>> from collum.evidence.handed import evidence_of
    >>> priors = evidence_of(all_constants()).neck
    >>> sounding = SoundingReading(theta_deg=0, value_mm=4, step_mm=1, error_mm=0.3, facial_front=True)
    >>> [(kind.name, round(kind.share, 2)) for kind in sounding_kinds(sounding, priors)]
    [('right', 0.88), ('short', 0.1), ('long', 0.02)]
    """
    short, long = priors.sounding_short_share, priors.sounding_long_share
    if reading.facial_front:
        short, long = priors.sounding_short_share_front, priors.sounding_long_share_front
    return (
        SoundingKind(
            name="right",
            share=1 - short - long,
            bias_mm=priors.sounding_right_bias_mm,
            variance_mm2=reading.variance_mm2,
        ),
        SoundingKind(
            name="short",
            share=short,
            bias_mm=priors.sounding_short_bias_mm,
            variance_mm2=priors.sounding_short_sd_mm**2,
        ),
        SoundingKind(
            name="long",
            share=long,
            bias_mm=priors.sounding_long_bias_mm,
            variance_mm2=priors.sounding_long_sd_mm**2,
        ),
    )


def depth_values(readings: tuple[DepthReading, ...]) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return angles, values and variances of readings.

    Parameters
    ----------
    readings : tuple of DepthReading
        The n readings.

    Returns
    -------
    tuple of 3 ndarray (n,)
        Angles [deg], depths below the margin [mm] and variances with rounding [mm2].

    Source
    ------
    Derived; the variance of rounding to a step is that of a uniform error, step squared over 12.

    Examples
    --------
    >>> angles, depths, variances = depth_values((DepthReading(theta_deg=90, value_mm=3, step_mm=1, error_mm=0.4),))
    >>> depths.tolist(), variances.round(3).tolist()
    ([3.0], [0.243])
    """
    return (
        np.array([r.theta_deg for r in readings], dtype=float),
        np.array([r.value_mm for r in readings], dtype=float),
        np.array([r.variance_mm2 for r in readings], dtype=float),
    )
