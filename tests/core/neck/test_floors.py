"""Draws that meet a floor are held there and counted."""

import numpy as np

from collum.core.neck import NeckState, draw_neck, neck_posterior, neck_prior
from collum.core.ring import STATIONS_DEG
from collum.evidence import value
from tests.measuring.necks import PRIORS


def test_every_draw_that_meets_a_floor_is_counted_whichever_floor_it_is() -> None:
    """Without a reading the prior reaches under both floors now and then."""
    state = NeckState(settled=False)
    draws = draw_neck(
        neck_posterior((), (), state, PRIORS), neck_prior(STATIONS_DEG, state, PRIORS), PRIORS, 4_000, np.random.default_rng(3)
    )
    shallow = np.any(draws.sulcus_mm == value("neck.floor.sulcus_mm"), axis=0)
    thin = np.any(draws.attachment_mm == value("neck.floor.attachment_mm"), axis=0)
    assert (shallow & ~thin).any() and (thin & ~shallow).any()
    assert draws.clamped_share == np.mean(shallow | thin)
