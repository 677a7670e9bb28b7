"""Damage by heat: the dose in equivalent minutes at 43 degC, and the law of Arrhenius.

The dose is trusted some ten degrees above normal: it judges bone, ligament and pulp, not the tissue next to the wire. The set
for skin calls a minute at 47 degC harmless, though it hurts bone, and must never judge bone.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from collum.core.ring import Floats
from collum.evidence import value

SECONDS_PER_MINUTE = 60

ArrheniusSet = Literal["skin", "soft", "artery", "collagen"]


def dose_min(times_s: Floats, temperature_degC: Floats, *, counted_from_degC: float | None = None) -> Floats:
    """Return equivalent minutes at 43 degC of courses of temperature, by trapezia.

    Parameters
    ----------
    times_s : ndarray (T,)
        Instants [s].
    temperature_degC : ndarray (..., T)
        Temperatures at the instants [degC].
    counted_from_degC : float or None
        Temperature below which nothing is added [degC]; that of the registry when None.

    Returns
    -------
    ndarray (...)
        Dose [min].

    Source
    ------
    [sapareto_dewey1984]: minutes times R^(43 - T), R 0.5 from 43 degC up and 0.25 below.

    Examples
    --------
    One minute at 43 and at 47 degC.

    >>> dose_min(np.array([0.0, 60]), np.array([[43.0, 43], [47, 47]])).tolist()
    [1.0, 16.0]
    """
    least = value("heat.dose.counted_from_degc") if counted_from_degC is None else counted_from_degC
    base = value("heat.dose.base_degc")
    rate = np.where(temperature_degC >= base, value("heat.dose.rate_above"), value("heat.dose.rate_below"))
    speed = np.where(temperature_degC >= least, rate ** (base - temperature_degC), 0)
    return np.asarray(np.trapezoid(speed, times_s, axis=-1) / SECONDS_PER_MINUTE, dtype=np.float64)


@dataclass(frozen=True, slots=True, kw_only=True)
class Arrhenius:
    """One set of constants: frequency factor [1/s] and activation energy [J/mol]."""

    frequency_per_s: float
    energy_j_mol: float

    @staticmethod
    def of(name: ArrheniusSet) -> "Arrhenius":
        """Return the set of a kind of tissue."""
        return Arrhenius(
            frequency_per_s=value(f"heat.arrhenius.{name}.frequency"), energy_j_mol=value(f"heat.arrhenius.{name}.energy")
        )

    def rate_per_s(self, temperature_degC: Floats) -> Floats:
        """Return the rate of damage at each temperature, any shape. The logarithm is taken first: the exponents pass 200."""
        absolute = np.asarray(temperature_degC, dtype=np.float64) + value("heat.arrhenius.zero_k")
        exponent = np.log(self.frequency_per_s) - self.energy_j_mol / (value("heat.arrhenius.gas_constant") * absolute)
        return np.asarray(np.exp(exponent), dtype=np.float64)

    def damage(self, times_s: Floats, temperature_degC: Floats) -> Floats:
        """Return (...) the damage integral of temperatures (..., T) at the instants (T,); 1 - exp(-it) is the share lost."""
        return np.asarray(np.trapezoid(self.rate_per_s(temperature_degC), times_s, axis=-1), dtype=np.float64)

    def even_temperature_degC(self) -> float:
        """Return the temperature at which the rate is one per second."""
        gas = value("heat.arrhenius.gas_constant")
        return self.energy_j_mol / (gas * float(np.log(self.frequency_per_s))) - value("heat.arrhenius.zero_k")
