"""What is believed of sulcus, attachment and probe tip before any reading of this tooth.

Three fields round the neck, each a mean plus fixed features times standard normals `z`: sulcus depth s (margin to true
floor), attachment A (floor to crest) and how far the probe tip passes the floor. s is a sum of independent parts (person,
tooth, kinds of site, embrasures), the only form found that gives the published correlations of charts, which no stationary
process does.

Not covered: several teeth at once (the embrasure parts are shared by two teeth; here each tooth stands alone).
"""

from dataclasses import dataclass

import numpy as np

from collum.core.ring import Floats, bump, interpolate_ring, proximal_weight, ring_features
from collum.evidence import value


@dataclass(frozen=True, slots=True, kw_only=True)
class NeckState:
    """What the prior depends on.

    `settled`: the tooth is known to be healthy, so that its sulcus follows the population; else the sulcus gets an extra doubt.
    `bleeding_deg`, `quiet_deg`: angles of sites that do and do not bleed. `proximal_probing_error`: back tooth.
    """

    settled: bool
    bleeding_deg: tuple[float, ...] = ()
    quiet_deg: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class NeckPrior:
    """Means (n,) and features (n, k) of the three fields at n angles, over the same k standard normals. [mm]"""

    theta_deg: Floats
    sulcus_mean_mm: Floats
    attachment_mean_mm: Floats
    tip_mean_mm: Floats
    sulcus: Floats
    attachment: Floats
    tip: Floats


def neck_prior(theta_deg: Floats, state: NeckState) -> NeckPrior:
    """Return the prior of the three fields at the angles `theta_deg` (n,)."""
    theta = np.asarray(theta_deg, dtype=float)
    sulcus = _sulcus_features(theta, settled=state.settled)
    attachment = _attachment_features(theta)
    bleeding = _bleeding_weight(theta, state)
    tip_sd = _between(bleeding, "tip_beyond_floor_healthy_sd_mm", "tip_beyond_floor_bleeding_sd_mm")
    tip = tip_sd[:, None] * ring_features(theta)
    blocks = (sulcus, attachment, tip)
    widths = [block.shape[1] for block in blocks]
    starts = np.cumsum([0, *widths])
    wide = [np.zeros((theta.size, int(starts[-1]))) for _ in blocks]
    for block, out, start in zip(blocks, wide, starts[:-1], strict=True):
        out[:, start : start + block.shape[1]] = block
    return NeckPrior(
        theta_deg=theta,
        sulcus_mean_mm=value("neck.sulcus.mean_mid_mm") + value("neck.sulcus.mean_proximal_extra_mm") * proximal_weight(theta),
        attachment_mean_mm=np.full(theta.size, value("neck.attachment.mean_mm")),
        tip_mean_mm=_between(bleeding, "tip_beyond_floor_healthy_mm", "tip_beyond_floor_bleeding_mm"),
        sulcus=wide[0],
        attachment=wide[1],
        tip=wide[2],
    )


def _sulcus_features(theta: Floats, *, settled: bool) -> Floats:
    one = np.ones_like(theta)
    parts = [
        ("person_mm2", one),
        ("tooth_mm2", one),
        ("facial_embrasure_sites_mm2", bump(theta, 60) + bump(theta, 300)),
        ("oral_embrasure_sites_mm2", bump(theta, 120) + bump(theta, 240)),
        ("mid_site_mm2", bump(theta, 0)),
        ("mid_site_mm2", bump(theta, 180)),
        ("facial_against_oral_mm2", (1 - np.cos(np.deg2rad(theta))) / 2),
        ("facial_embrasure_mm2", bump(theta, 60)),
        ("facial_embrasure_mm2", bump(theta, 300)),
        ("oral_embrasure_mm2", bump(theta, 120)),
        ("oral_embrasure_mm2", bump(theta, 240)),
    ]
    columns = np.stack([np.sqrt(value(f"neck.variance.{name}")) * shape for name, shape in parts], axis=1)
    if settled:
        return columns
    extra_tooth = value("neck.overgrown.tooth_sd_mm") * one[:, None]
    local_sd = value("neck.overgrown.local_sd_mm")
    along_sd = np.sqrt(value("neck.overgrown.site_sd_mm") ** 2 - local_sd**2)
    along_sides = along_sd * ring_features(theta, value("neck.overgrown.ring_length"))
    return np.concatenate([columns, extra_tooth, along_sides, local_sd * ring_features(theta)], axis=1)


def _attachment_features(theta: Floats) -> Floats:
    person = np.full((theta.size, 1), np.sqrt(value("neck.variance.attachment_person_mm2")))
    sites = np.sqrt(value("neck.variance.attachment_site_mm2")) * ring_features(theta)
    return np.concatenate([person, sites], axis=1)


def _bleeding_weight(theta: Floats, state: NeckState) -> Floats:
    at = [*state.bleeding_deg, *state.quiet_deg]
    if not state.bleeding_deg:
        return np.zeros_like(theta)
    marks = [1] * len(state.bleeding_deg) + [0] * len(state.quiet_deg)
    return interpolate_ring(theta, np.array(at), np.array(marks, dtype=float))


def _between(weight: Floats, quiet_key: str, bleeding_key: str) -> Floats:
    quiet, bleeding = value(f"neck.probe.{quiet_key}"), value(f"neck.probe.{bleeding_key}")
    return np.asarray(quiet + (bleeding - quiet) * weight)
