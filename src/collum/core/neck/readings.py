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

    Shares and errors from Kan 2017 for failing upper front teeth; elsewhere a choice (see the registry).
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
    """Return angles, values and variances of the readings, each (n,)."""
    return (
        np.array([r.theta_deg for r in readings], dtype=float),
        np.array([r.value_mm for r in readings], dtype=float),
        np.array([r.variance_mm2 for r in readings], dtype=float),
    )
