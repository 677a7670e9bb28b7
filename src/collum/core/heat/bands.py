"""Bands of what is not known: how much heat a stroke leaves, how much blood still cools, how speed counts.

Nothing here is a prediction for a patient or says anything of a unit. A plan of pacing is safe only where it is safe in the
worst band, and the worst band has no perfusion: a vasoconstrictor takes most of it.
"""

from dataclasses import dataclass
from itertools import product

from collum.evidence import get, value


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """One corner of the unknown: strength beside the middle band, share of perfusion left, exponent of speed."""

    strength: float
    perfusion: float
    speed_exponent: float

    def factor(self, speed_mm_s: float) -> float:
        """Return by how much a unit response is multiplied for a stroke of this speed in this band.

        Slower than the reference leaves more. Raises ValueError where the speed is below the least one allowed.
        """
        reference = get("heat.speed.reference_mm_s")
        if speed_mm_s < reference.low:
            raise ValueError(f"a stroke of {speed_mm_s:g} mm/s is slower than {reference.low:g} mm/s")
        return float(self.strength * (reference.value / speed_mm_s) ** self.speed_exponent)


def all_bands() -> tuple[Band, ...]:
    """Return every corner of the unknown: strength low, middle, high; perfusion none and whole; both exponents.

    Returns
    -------
    tuple of 12 Band
        Strength beside the middle band, share of perfusion and exponent of speed, all without unit.

    Source
    ------
    The ranges are decisions [collum_decision].

    Examples
    --------
    >>> len(all_bands()), min(band.strength for band in all_bands())
    (12, 0.5)
    """
    strength, perfusion, exponent = (get(f"heat.band.{name}") for name in ("strength", "perfusion", "speed_exponent"))
    corners = product(
        (strength.low, strength.value, strength.high), (perfusion.low, perfusion.high), (exponent.low, exponent.high)
    )
    return tuple(Band(strength=s, perfusion=p, speed_exponent=n) for s, p, n in corners)


def middle_band() -> Band:
    """Return the middle strength in the safe case of no perfusion.

    Returns
    -------
    Band
        Strength, share of perfusion and exponent of speed, all without unit.

    Source
    ------
    Decision [collum_decision].

    Examples
    --------
    >>> middle_band().factor(7)
    1.0
    """
    return Band(
        strength=value("heat.band.strength"),
        perfusion=value("heat.band.perfusion"),
        speed_exponent=value("heat.band.speed_exponent"),
    )


def worst_band(speed_mm_s: float) -> Band:
    """Return the band that leaves most heat at a speed.

    Parameters
    ----------
    speed_mm_s : float
        Speed of the stroke [mm/s].

    Returns
    -------
    Band
        Strength, share of perfusion and exponent of speed, all without unit.

    Raises
    ------
    ValueError
        For a speed below the least one allowed.

    Source
    ------
    Derived: the greatest factor among `all_bands`, without perfusion.

    Examples
    --------
    >>> band = worst_band(7)
    >>> band.factor(7), band.perfusion
    (2.7, 0)
    """
    return max(all_bands(), key=lambda band: (band.factor(speed_mm_s), -band.perfusion))
