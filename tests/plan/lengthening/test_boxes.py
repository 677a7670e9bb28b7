"""The sound edge where it steps down is as deep as it was read, for every route."""

from dataclasses import replace

import numpy as np
import pytest

from collum.core.neck import LineReading, stepped_mm
from collum.core.ring import STATIONS_DEG, Floats
from collum.plan.lengthening.levels.prepared import Prepared
from tests.making.teeth import case_of, healthy_premolar, readings, row
from tests.measuring.necks import drawn_neck

DRAWS = 2_000
ONCE_MM = 0.03  # three standard errors of a mean over the draws


def read(**deeper: float) -> Prepared:
    """A neck whose sound edge was read 2.5 mm above the gum all round, lower at some sites."""
    tooth = healthy_premolar()
    heights = readings(row(*[2.5] * 6) | deeper)
    return drawn_neck(case_of(replace(tooth, readings={**tooth.readings, "sound_height": heights})), DRAWS)


def edge_mm(neck: Prepared) -> Floats:
    """Return the mean sound edge (36,) in the frame of the tooth."""
    assert neck.sound_edge_mm is not None
    return np.asarray(neck.sound_edge_mm.mean(axis=1) + neck.margin_mm)


def test_a_box_of_one_site_is_as_deep_as_it_was_read_as_far_as_half_way() -> None:
    neck = read(L=-1.5)
    floor = -1.5 + neck.margin_mm[18]
    assert (edge_mm(neck)[15:22] <= floor + ONCE_MM).all()
    assert (edge_mm(neck)[[9, 27, 0]] > floor + 2).all()


def test_at_no_site_is_the_edge_above_its_reading() -> None:
    low = {"MF": 1.0, "L": -1.5, "DF": 0.0}
    neck = read(**low)
    for site, station in {"MF": 6, "L": 18, "DF": 30}.items():
        assert edge_mm(neck)[station] <= low[site] + neck.margin_mm[station] + ONCE_MM


def test_steps_never_raise_an_edge_and_keep_its_spread() -> None:
    rng = np.random.default_rng(4)
    smooth = 1.0 + np.cos(np.deg2rad(STATIONS_DEG))[:, None] + rng.normal(0, 0.3, (36, 500))
    read = tuple(LineReading(theta_deg=float(at), height_mm=0.5, step_mm=0.5, error_mm=0.2) for at in (0, 120, 240))
    stepped = stepped_mm(smooth, read)
    assert (stepped <= smooth).all()
    assert stepped.mean(axis=1).max() <= 0.5 + 1e-12
    assert stepped.std(axis=1) == pytest.approx(smooth.std(axis=1))


def test_two_readings_of_one_site_count_as_their_mean() -> None:
    flat = np.full((36, 1), 2.0)
    read = tuple(LineReading(theta_deg=90.0, height_mm=mm, step_mm=0.5, error_mm=0.2) for mm in (0.0, 1.0))
    assert stepped_mm(flat, read) == pytest.approx(np.full((36, 1), 0.5))
