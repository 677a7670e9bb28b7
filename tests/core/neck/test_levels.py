"""Levels of the neck: covariance against published charts, exactness against other routes, mixture, order of draws."""

import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import multivariate_normal

from collum.core.neck import DepthReading, NeckState, SoundingReading, draw_neck, neck_posterior, neck_prior
from collum.core.neck.readings import sounding_kinds
from collum.core.neck.soundings import explain_soundings
from collum.core.ring import STATIONS_DEG, ring_features
from collum.evidence import value
from tests.measuring.necks import PRIORS

SITES_DEG = np.array([0, 60, 120, 180, 240, 300], dtype=float)
HEALTHY = NeckState(settled=True)


def probing(values: list[float], error_mm: float = 0.4) -> tuple[DepthReading, ...]:
    return tuple(
        DepthReading(theta_deg=float(t), value_mm=v, step_mm=0.5, error_mm=error_mm)
        for t, v in zip(SITES_DEG, values, strict=True)
    )


def sounding(values: list[float], *, facial_front: bool = False) -> tuple[SoundingReading, ...]:
    return tuple(
        SoundingReading(theta_deg=float(t), value_mm=v, step_mm=0.5, error_mm=0.4, facial_front=facial_front)
        for t, v in zip(SITES_DEG, values, strict=True)
    )


def test_correlation_round_the_tooth_is_that_of_published_charts() -> None:
    """Open six-site charts of 148 people, person mean removed: next site 0.32, next but one 0.28, opposite 0.26, ML-DL 0.49,
    MF-DF 0.38, DL-L 0.39. Tolerance 0.10: the charts' own rounding; reading variance 0.09 as in the charts."""
    features = neck_prior(SITES_DEG, HEALTHY, PRIORS).sulcus[:, 1:]  # without the person
    covariance = features @ features.T + value("neck.error.chart_variance_mm2") * np.eye(6)
    sd = np.sqrt(np.diag(covariance))
    r = covariance / np.outer(sd, sd)
    steps = [np.mean([r[i, (i + k) % 6] for i in range(6)]) for k in (1, 2, 3)]
    assert steps == pytest.approx([0.32, 0.28, 0.26], abs=0.10)
    assert [r[2, 4], r[1, 5], r[4, 3]] == pytest.approx([0.49, 0.38, 0.39], abs=0.10)
    assert np.mean(np.diag(covariance)) == pytest.approx(0.35, abs=0.03)  # 0.09 + 0.26 mm2 within people


def test_margin_to_crest_of_a_healthy_site_spreads_as_published() -> None:
    """Soft-tissue cone-beam scans: 0.67 to 0.81 mm (PMC8517686)."""
    prior = neck_prior(SITES_DEG, HEALTHY, PRIORS)
    features = prior.sulcus + prior.attachment
    sd = np.sqrt(np.sum(features**2, axis=1))
    assert 0.67 <= sd.mean() <= 0.85
    mean = prior.sulcus_mean_mm + prior.attachment_mean_mm
    assert mean[[0, 3]] == pytest.approx([3.45, 3.45])
    assert float(neck_prior(np.array([90.0]), HEALTHY, PRIORS).sulcus_mean_mm[0]) + 2.2 == pytest.approx(3.87)


def test_ring_features_give_the_kernel() -> None:
    """exp(-2 sin2(D/2) / l2); six harmonics leave less than 0.6 % of the variance, which is spread over them."""
    theta = np.arange(0, 360, 7.5)
    kernel = ring_features(theta, PRIORS.ring_length) @ ring_features(theta, PRIORS.ring_length).T
    distance = np.deg2rad(theta[:, None] - theta[None, :])
    exact = np.exp(-2 * np.sin(distance / 2) ** 2 / value("neck.ring.length") ** 2)
    assert np.abs(kernel - exact).max() < 0.01


def test_posterior_equals_brute_force_over_all_explanations() -> None:
    """The kept explanations against all 3^6, each by the textbook formula in the space of the readings (scipy's normal
    density).
    """
    probes, sounds = probing([2.5, 3.0, 2.5, 2.0, 3.0, 2.5]), sounding([3.5, 2.0, 4.0, 3.5, 4.5, 4.0])
    posterior = neck_posterior(probes, sounds, HEALTHY, PRIORS)
    prior = neck_prior(STATIONS_DEG, HEALTHY, PRIORS)
    mean, variance = posterior.crest_depth_moments(prior)
    brute_mean, brute_variance = _brute_force(probes, sounds)
    assert mean == pytest.approx(brute_mean, abs=2e-3)  # dropped explanations weigh less than 1e-3
    assert np.sqrt(variance) == pytest.approx(np.sqrt(brute_variance), rel=5e-3)


def test_draws_have_the_moments_of_the_mixture() -> None:
    probes, sounds = probing([2.5, 3.0, 2.5, 2.0, 3.0, 2.5]), sounding([3.5, 2.0, 4.0, 3.5, 4.5, 4.0])
    posterior = neck_posterior(probes, sounds, HEALTHY, PRIORS)
    prior = neck_prior(STATIONS_DEG, HEALTHY, PRIORS)
    draws = draw_neck(posterior, prior, PRIORS, 20_000, np.random.default_rng(3))
    mean, variance = posterior.crest_depth_moments(prior)
    assert draws.clamped_share < 0.02
    assert draws.crest_depth_mm.mean(axis=1) == pytest.approx(mean, abs=0.02)  # 4 standard errors of 20,000 draws
    assert draws.crest_depth_mm.std(axis=1) == pytest.approx(np.sqrt(variance), rel=0.04)


def test_one_sounding_far_too_shallow_moves_little_and_is_named() -> None:
    probes = probing([2.0, 2.5, 2.5, 2.0, 2.5, 2.5])
    good = [3.5, 4.0, 4.0, 3.5, 4.0, 4.0]
    bad = [1.5, *good[1:]]
    prior = neck_prior(np.array([0.0]), HEALTHY, PRIORS)
    before, _ = neck_posterior(probes, sounding(good), HEALTHY, PRIORS).crest_depth_moments(prior)
    posterior = neck_posterior(probes, sounding(bad), HEALTHY, PRIORS)
    after, _ = posterior.crest_depth_moments(prior)
    plain, _ = _brute_force(probes, sounding(bad), kinds=(0,), at_deg=np.array([0.0]))
    assert before[0] - after[0] < 0.7
    assert before[0] - plain[0] > 0.7  # a plain Gaussian must fail this
    far_off = posterior.explanations.far_off_probability()
    assert far_off[0] > 0.5
    assert far_off[1:].max() < 0.1


def test_a_repeat_equal_to_the_first_never_widens() -> None:
    probes = probing([2.0, 2.5, 2.5, 2.0, 2.5, 2.5])
    once = sounding([3.5, 4.0, 4.0, 3.5, 4.0, 4.0])
    prior = neck_prior(STATIONS_DEG, HEALTHY, PRIORS)
    _, before = neck_posterior(probes, once, HEALTHY, PRIORS).crest_depth_moments(prior)
    _, after = neck_posterior(probes, (*once, once[0]), HEALTHY, PRIORS).crest_depth_moments(prior)
    assert np.all(after <= before + 1e-9)


def test_two_soundings_that_disagree_may_widen() -> None:
    """True of a mixture, false of a single Gaussian: prior N(3.5, 0.7), reading error 0.5."""
    once, twice = (_deviation_after(values) for values in ((3.5,), (3.5, 2.0)))
    assert twice > once
    plain_once, plain_twice = ((1 / 0.49 + n / 0.25) ** -0.5 for n in (1, 2))
    assert plain_twice < plain_once


@given(st.lists(st.floats(0.5, 9), min_size=6, max_size=6), st.lists(st.floats(1, 12), min_size=6, max_size=6), st.booleans())
def test_no_draw_violates_the_order(depths: list[float], heights: list[float], settled: bool) -> None:
    state = NeckState(settled=settled, bleeding_deg=(60.0,), quiet_deg=(0.0, 180.0))
    posterior = neck_posterior(probing(depths), sounding(heights), state, PRIORS)
    draws = draw_neck(posterior, neck_prior(STATIONS_DEG, state, PRIORS), PRIORS, 200, np.random.default_rng(1))
    assert draws.sulcus_mm.min() >= value("neck.floor.sulcus_mm")
    assert draws.attachment_mm.min() >= value("neck.floor.attachment_mm")
    assert np.all(draws.tip_beyond_mm >= 0)
    assert np.all(draws.sulcus_mm + draws.tip_beyond_mm <= draws.crest_depth_mm + 1e-12)


def test_beyond_the_probe_agrees_with_a_sample_of_the_prior() -> None:
    """A one-sided reading against plain rejection sampling of the prior; 3 standard errors."""
    beyond = (DepthReading(theta_deg=0, value_mm=4.0, step_mm=1.0, error_mm=0.4, beyond=True),)
    state = NeckState(settled=False)
    posterior = neck_posterior(beyond, (), state, PRIORS)
    prior = neck_prior(np.array([0.0]), state, PRIORS)
    draws = draw_neck(posterior, prior, PRIORS, 20_000, np.random.default_rng(2))
    rng = np.random.default_rng(4)
    z = rng.standard_normal((prior.sulcus.shape[1], 400_000))
    sulcus = (prior.sulcus_mean_mm[:, None] + prior.sulcus @ z)[0]
    tip = (prior.tip_mean_mm[:, None] + prior.tip @ z)[0]
    seen = sulcus + tip + np.sqrt(beyond[0].variance_mm2) * rng.standard_normal(z.shape[1]) > 4.0
    assert draws.sulcus_mm.mean() == pytest.approx(sulcus[seen].mean(), abs=0.05)
    assert draws.sulcus_mm.std() == pytest.approx(sulcus[seen].std(), rel=0.05)


def test_no_reading_at_all_is_the_prior() -> None:
    prior = neck_prior(STATIONS_DEG, HEALTHY, PRIORS)
    mean, _ = neck_posterior((), (), HEALTHY, PRIORS).crest_depth_moments(prior)
    assert mean == pytest.approx(prior.sulcus_mean_mm + prior.attachment_mean_mm)


@given(st.floats(0.2, 1.0), st.floats(1.05, 3.0))
def test_more_error_never_narrows_a_plain_reading(error_mm: float, factor: float) -> None:
    prior = neck_prior(STATIONS_DEG, HEALTHY, PRIORS)
    spreads = []
    for error in (error_mm, error_mm * factor):
        posterior = neck_posterior(probing([2.0, 2.5, 2.5, 2.0, 2.5, 2.5], error), (), HEALTHY, PRIORS)
        features = prior.sulcus
        spreads.append(np.einsum("mk,kl,ml->m", features, posterior.normals.covariance, features))
    assert np.all(spreads[1] >= spreads[0] - 1e-12)


def _brute_force(
    probes: tuple[DepthReading, ...],
    sounds: tuple[SoundingReading, ...],
    kinds: tuple[int, ...] = (0, 1, 2),
    at_deg: np.ndarray = STATIONS_DEG,
) -> tuple[np.ndarray, np.ndarray]:
    angles = np.array([r.theta_deg for r in (*probes, *sounds)])
    at_readings, at = neck_prior(angles, HEALTHY, PRIORS), neck_prior(at_deg, HEALTHY, PRIORS)
    n = len(probes)
    features = np.where(
        (np.arange(angles.size) < n)[:, None],
        at_readings.sulcus + at_readings.tip,
        at_readings.sulcus + at_readings.attachment,
    )
    known = np.where(
        np.arange(angles.size) < n,
        at_readings.sulcus_mean_mm + at_readings.tip_mean_mm,
        at_readings.sulcus_mean_mm + at_readings.attachment_mean_mm,
    )
    values = np.array([r.value_mm for r in (*probes, *sounds)]) - known
    target = at.sulcus + at.attachment
    weights, means, variances = [], [], []
    for choice in itertools.product(kinds, repeat=len(sounds)):
        picked = [sounding_kinds(r, PRIORS)[k] for r, k in zip(sounds, choice, strict=True)]
        noise = np.array([*(r.variance_mm2 for r in probes), *(k.variance_mm2 for k in picked)])
        bias = np.array([*(0.0 for _ in probes), *(k.bias_mm for k in picked)])
        covariance = features @ features.T + np.diag(noise)
        cross = target @ features.T
        gain = np.linalg.solve(covariance, cross.T).T
        density = multivariate_normal(np.zeros(values.size), covariance).pdf(values - bias)
        weights.append(np.prod([k.share for k in picked]) * density)
        means.append(at.sulcus_mean_mm + at.attachment_mean_mm + gain @ (values - bias))
        variances.append(np.sum(target**2, axis=1) - np.sum(gain * cross, axis=1))
    share = np.array(weights) / np.sum(weights)
    mean = share @ np.array(means)
    return mean, share @ (np.array(variances) + (np.array(means) - mean) ** 2)


def _deviation_after(values: tuple[float, ...]) -> float:
    """Standard deviation of one height with prior N(3.5, 0.7) after soundings of it at an upper front tooth."""
    readings = tuple(SoundingReading(theta_deg=0, value_mm=v, step_mm=0, error_mm=0.5, facial_front=True) for v in values)
    n = len(values)
    found = explain_soundings(readings, np.full(n, 3.5), np.full((n, n), 0.49), PRIORS)
    cross = np.full(n, 0.49)
    means = np.einsum("i,bij,bj->b", cross, found.gain, found.residual)
    variances = 0.49 - np.einsum("i,bij,j->b", cross, found.gain, cross)
    mean = found.weight @ means
    return float(np.sqrt(found.weight @ (variances + (means - mean) ** 2)))
