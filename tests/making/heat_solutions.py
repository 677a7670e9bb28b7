"""Closed forms of heat flow in perfused tissue, as an oracle for the grid: nothing here comes from the program.

Units are millimetre, second, kelvin, millijoule. `Medium` gives conductivity k [mW/(mm K)], capacity c [mJ/(mm3 K)] and
perfusion b [mW/(mm3 K)]. The forms are those of Carslaw & Jaeger's book with the perfusion of Pennes as a factor exp(-beta t);
each was checked there and here by a second way where that is said.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.integrate import quad
from scipy.special import erf, erfc, erfcx, k0e


@dataclass(frozen=True)
class Medium:
    k: float = 0.5
    c: float = 3.78
    b: float = 0.005 * 1060 * 3770 * 1e-6

    @property
    def a(self) -> float:
        return self.k / self.c

    @property
    def beta(self) -> float:
        return self.b / self.c

    @property
    def m(self) -> float:
        return float(np.sqrt(self.beta / self.a))


S = Medium()


def point(e: float, r: float, t: float, s: Medium = S) -> float:
    """Instantaneous point source (V1)."""
    return float(e / (s.c * (4 * np.pi * s.a * t) ** 1.5) * np.exp(-r * r / (4 * s.a * t) - s.beta * t))


def steady_point(p: float, r: float, t: float, s: Medium = S) -> float:
    """Continuous point source from t = 0, 0 before it (V2)."""
    if t <= 0:
        return 0.0
    spread, cooled = np.sqrt(4 * s.a * t), np.sqrt(s.beta * t)
    both = np.exp(-s.m * r) * erfc(r / spread - cooled) + np.exp(s.m * r) * erfc(r / spread + cooled)
    return float(p / (8 * np.pi * s.k * r) * both)


def ball(p: float, sigma: float, r: float, t: float, s: Medium = S) -> float:
    """Continuous Gaussian ball (V2g), by quadrature."""

    def kernel(u: float) -> float:
        width = 4 * s.a * u + 2 * sigma**2
        return float(p / s.c * (np.pi * width) ** -1.5 * np.exp(-r * r / width - s.beta * u))

    return float(quad(kernel, 0, t, epsrel=1e-11)[0])


def moving_point(p: float, speed: float, xi: float, y: float, s: Medium = S) -> float:
    """Point moving at `speed`, steady in its own frame (V3)."""
    r = np.hypot(xi, y)
    return float(
        p / (4 * np.pi * s.k * r) * np.exp(-speed * xi / (2 * s.a) - r * np.sqrt((speed / (2 * s.a)) ** 2 + s.beta / s.a))
    )


def moving_line(q: float, speed: float, xi: float, y: float, s: Medium = S) -> float:
    """Infinite line across its path, q per length (V4)."""
    z = np.hypot(xi, y) * np.sqrt((speed / (2 * s.a)) ** 2 + s.beta / s.a)
    return float(q / (2 * np.pi * s.k) * k0e(z) * np.exp(-speed * xi / (2 * s.a) - z))


def line(e: float, r: float, t: float, s: Medium = S) -> float:
    """Instantaneous line, e per length (V4b)."""
    return float(e / (4 * np.pi * s.k * t) * np.exp(-r * r / (4 * s.a * t) - s.beta * t))


def plane(e: float, x: float, t: float, s: Medium = S) -> float:
    """Instantaneous plane, e per area (V4c)."""
    return float(e / (s.c * np.sqrt(4 * np.pi * s.a * t)) * np.exp(-x * x / (4 * s.a * t) - s.beta * t))


def cooled_surface(fluid: float, h: float, z: float, t: float, s: Medium = S) -> float:
    """Half space at rest, suddenly under a film to a fluid (V5a)."""

    def unperfused(time: float) -> float:
        if time <= 0:
            return 0.0
        u, w = z / np.sqrt(4 * s.a * time), h / s.k * np.sqrt(s.a * time)
        return float(erfc(u) - np.exp(-u * u) * erfcx(u + w))

    past = quad(lambda v: unperfused(v) * np.exp(-s.beta * v), 0, t, epsrel=1e-11)[0]
    return float(fluid * (unperfused(t) * np.exp(-s.beta * t) + s.beta * past))


def point_under_film(e: float, depth: float, h: float, rho: float, z: float, t: float, s: Medium = S) -> float:
    """Instantaneous point at a depth under a film (V5b)."""
    d = 4 * s.a * t
    u = (z + depth) / np.sqrt(d)
    column = (np.exp(-((z - depth) ** 2) / d) + np.exp(-((z + depth) ** 2) / d)) / np.sqrt(np.pi * d)
    column -= h / s.k * np.exp(-u * u) * erfcx(u + h / s.k * np.sqrt(s.a * t))
    return float(e / s.c * np.exp(-rho * rho / d - s.beta * t) / (np.pi * d) * column)


def steady_point_under_film(p: float, depth: float, h: float, rho: float, z: float, t: float) -> float:
    """The same, continuous (V5c)."""
    return float(quad(lambda u: point_under_film(p, depth, h, rho, z, u), 0, t, epsrel=1e-10, limit=200)[0])


def surface_flux(q: float, z: float, t: float, s: Medium = S) -> float:
    """Half space with a flux through its surface (V5d)."""
    spread, cooled = np.sqrt(4 * s.a * t), np.sqrt(s.beta * t)
    both = np.exp(-s.m * z) * erfc(z / spread - cooled) - np.exp(s.m * z) * erfc(z / spread + cooled)
    return float(q / (2 * s.k * s.m) * both)


def hot_sheet(e: float, x: float, y: float, z: float, t: float, *, length: float, depth: float, s: Medium = S) -> float:
    """Rectangular sheet left at once across x, under an insulated surface z = 0 (V9)."""
    d = np.sqrt(4 * s.a * t)
    along = (erf((length / 2 - y) / d) + erf((length / 2 + y) / d)) / 2
    down = (erf((depth - z) / d) + erf((depth + z) / d)) / 2
    return plane(e, x, t, s) * float(along * down)


def three_strokes(starts: tuple[float, ...], place: tuple[float, float, float], t: float, s: Medium = S) -> float:
    """Gaussian balls (sigma 0.3) of 1000 mJ/s drawn from x = -3.5 to 3.5 at 7 mm/s, each from its start (V8b)."""
    x, y, z = place

    def one(since: float) -> float:
        if since <= 0:
            return 0.0

        def kernel(q: float) -> float:
            width = 4 * s.a * (since - q) + 2 * 0.3**2
            far = (x + 3.5 - 7 * q) ** 2 + y * y + z * z
            return float(1000 / s.c * (np.pi * width) ** -1.5 * np.exp(-far / width - s.beta * (since - q)))

        return float(quad(kernel, 0, min(since, 1.0), epsrel=1e-11, limit=200)[0])

    return sum(one(t - start) for start in starts)


@dataclass(frozen=True)
class Slab:
    """Two layers, the left face stepped to `step`, the right one held at 0 (V6)."""

    length: tuple[float, float]
    media: tuple[Medium, Medium]
    step: float

    def rise(self, x: float, t: float) -> float:
        """By inversion of the Laplace transform (Talbot, 40 terms)."""
        return talbot(lambda p: self._transformed(x, p), t)

    def _transformed(self, x: float, p: complex) -> complex:
        q1, q2 = (np.sqrt((s.c * p + s.b) / s.k) for s in self.media)
        (l1, l2), (s1, s2) = self.length, self.media
        face = s1.k * q1 * (self.step / p) / np.sinh(q1 * l1) / (s1.k * q1 / np.tanh(q1 * l1) + s2.k * q2 / np.tanh(q2 * l2))
        if x <= l1:
            return complex((self.step / p * np.sinh(q1 * (l1 - x)) + face * np.sinh(q1 * x)) / np.sinh(q1 * l1))
        return complex(face * np.sinh(q2 * (l1 + l2 - x)) / np.sinh(q2 * l2))

    def steady_face(self) -> float:
        """Rise of the interface in the end."""
        (l1, l2), (s1, s2) = self.length, self.media
        if s1.b == 0:
            return self.step * (l2 / s2.k) / (l1 / s1.k + l2 / s2.k)
        left = s1.k * s1.m
        return self.step * left / np.sinh(s1.m * l1) / (left / np.tanh(s1.m * l1) + s2.k * s2.m / np.tanh(s2.m * l2))


def talbot(transformed: Callable[[complex], complex], t: float, terms: int = 40) -> float:
    """Invert a Laplace transform along Weideman's contour."""
    theta = -np.pi + (np.arange(terms) + 0.5) * 2 * np.pi / terms
    cot = 1 / np.tan(0.6407 * theta)
    z = terms / t * (-0.4814 + 0.6122 * theta * cot + 0.2645j * theta)
    slope = terms / t * (0.6122 * cot - 0.6122 * 0.6407 * theta / np.sin(0.6407 * theta) ** 2 + 0.2645j)
    total = sum(np.exp(p * t) * transformed(p) * d for p, d in zip(z, slope, strict=True))
    return float((total / (1j * terms)).real)
