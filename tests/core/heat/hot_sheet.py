"""Closed form of the warmth a wire leaves: a rectangular hot sheet under an insulated surface, in even tissue.

A wire of length d in the tissue, drawn over a length L, leaves E'' of heat on each area of the cut face (both sides together).
With x across the face, y along it from its middle, z into the tissue from the surface, and s = sqrt(4 a t):

    rise = E'' / (c sqrt(pi) s) exp(-x2/s2 - b t)
           1/2 [erf((L/2 - y)/s) + erf((L/2 + y)/s)]  1/2 [erf((d - z)/s) + erf((d + z)/s)]

with heat capacity c, diffusivity a and cooling rate b (Carslaw & Jaeger, product of one-dimensional sources). The heat is laid
down at once when the wire touches; the tissue, also where tooth and bone stand, is gingiva.
"""

from dataclasses import dataclass

import numpy as np
from scipy.special import erf

from collum.core.ring import Floats
from collum.evidence import value


@dataclass(frozen=True, slots=True, kw_only=True)
class HotSheet:
    """A cut face of `length_mm` along the margin and `depth_mm` into the tissue with `heat_mJ_mm2` left on it."""

    length_mm: float
    depth_mm: float
    heat_mJ_mm2: float

    def rise_degC(self, times_s: Floats, points_mm: Floats, cooling_per_s: float = 0) -> Floats:
        """Return (P, T) the rise at points (P, 3), across, along and into the tissue, at instants (T,) after the stroke.

        0 at the instant 0; on the face itself the rise has no bound just after it.
        """
        x, y, z = (points_mm[:, [axis]] for axis in range(3))
        diffusivity = value("heat.gingiva.conductivity") / value("heat.gingiva.capacity")
        rise = np.zeros((points_mm.shape[0], times_s.size))
        later = times_s > 0
        s = np.sqrt(2 * 2 * diffusivity * times_s[later])[None, :]
        across = np.exp(-((x / s) ** 2) - cooling_per_s * times_s[later]) / (np.sqrt(np.pi) * s)
        along = (erf((self.length_mm / 2 - y) / s) + erf((self.length_mm / 2 + y) / s)) / 2
        into = (erf((self.depth_mm - z) / s) + erf((self.depth_mm + z) / s)) / 2
        rise[:, later] = self.heat_mJ_mm2 / value("heat.gingiva.capacity") * across * along * into
        return rise
