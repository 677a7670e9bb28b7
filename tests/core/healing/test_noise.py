"""What chance adds to the regrowth fades in with the cut, as the movement does."""

import numpy as np
import pytest

from collum.core.healing import residual_spread_mm, settled_margin_mm
from tests.measuring.necks import LAW


@pytest.mark.parametrize(("cut_mm", "share"), [(0.0, 0.0), (-0.25, 0.5), (-0.5, 1.0), (-1.0, 1.0)])
def test_noise_fades_in_over_the_first_half_millimetre(cut_mm: float, share: float) -> None:
    """One standard deviation downwards, taken off at a share that grows with the cut up to 0.5 mm."""
    crest_mm, height_mm = 4.0, 3.0
    spread_mm = float(residual_spread_mm(crest_mm + cut_mm, LAW))

    def settled(noise: float) -> float:
        margin = settled_margin_mm(
            np.array([cut_mm]),
            LAW,
            crest_depth_mm=np.array([[crest_mm]]),
            own_height_mm=np.array([[height_mm]]),
            return_share=1,
            phenotype_shift_mm=0,
            noise=np.array([[noise]]),
        )
        return float(margin[0, 0])

    assert settled(-1.0) - settled(0.0) == pytest.approx(-share * spread_mm)
