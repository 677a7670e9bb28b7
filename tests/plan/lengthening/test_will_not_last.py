"""A cut nearer to the crest than the tissue tends back to is allowed, and said to grow back."""

from dataclasses import replace

import numpy as np
import pytest

from collum.plan.lengthening.route import will_not_last
from tests.making.teeth import case_of, overgrown_premolar
from tests.measuring.necks import drawn_neck

CREST_MM = 4.2
DRAWS = 10


@pytest.mark.parametrize(
    ("own_height_mm", "cut_mm", "grows_back"),
    [
        (3.7, -0.4, False),  # 3.8 left above the crest
        (3.7, -1.0, True),  # 3.2 left, 3.7 is the tissue's own
        (2.0, -1.0, False),  # 3.2 left, never less than 3.0 is aimed at
        (2.0, -1.5, True),  # 2.7 left
        (5.0, 0.0, False),  # nothing is cut
    ],
)
def test_what_is_left_is_compared_with_the_own_height_and_three_millimetres(
    own_height_mm: float, cut_mm: float, grows_back: bool
) -> None:
    prepared = replace(
        drawn_neck(case_of(overgrown_premolar()), DRAWS),
        crest_depth_mm=np.full((36, DRAWS), CREST_MM),
        own_height_mm=np.full((36, DRAWS), own_height_mm),
    )
    assert will_not_last(prepared, np.full(36, cut_mm)).tolist() == [grows_back] * 36
