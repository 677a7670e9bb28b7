"""Root to crown after 3 mm of sound tooth were won, upper central incisor: check 22 of the periodontal figures.

Assif et al. 1991, J Prosthet Dent 65:62 (read): 1.24 intact, 0.74 after surgery, 0.95 after extrusion. The crest lies at
the junction in that sum; a raised tooth is trimmed back to its old edge. Tolerance: half of the last digit.
"""

import pytest

from collum.core.support.support import crown_to_root
from collum.core.tooth import dimensions

WON_MM = 3.0


def root_to_crown(**won: float) -> float:
    size = dimensions(11)
    return 1 / float(crown_to_root(size.crown_length_mm, size.root_length_mm, 0.0, **won))


def test_the_handbook_tooth_is_the_one_of_the_paper() -> None:
    assert (dimensions(11).crown_length_mm, dimensions(11).root_length_mm) == (10.5, 13.0)


def test_an_intact_tooth() -> None:
    assert root_to_crown() == pytest.approx(1.24, abs=0.005)


def test_after_bone_surgery() -> None:
    assert root_to_crown(bone_removed_mm=WON_MM) == pytest.approx(0.74, abs=0.005)


def test_after_extrusion_which_is_kinder() -> None:
    assert root_to_crown(extruded_mm=WON_MM) == pytest.approx(0.95, abs=0.005)
