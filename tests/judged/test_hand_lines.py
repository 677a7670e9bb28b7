"""What lines that a hand can make cost against lines that are smooth by weight alone: demo cases and two hundred made teeth."""

import json
from collections.abc import Iterator

import pytest

from campaigns import hand
from collum.app.demo import demo_cases
from collum.case import Case, from_document
from tests.judged.test_calibration import RESULTS
from tests.making.plausible_teeth import plausible_cases
from tests.making.shipped import walked

TEETH, SEED = 200, 2_613
PRINTED = 2e-3  # six decimals over a third of a millimetre, with room
WORKED_ON = ("soft tissue only", "soft tissue and bone", "extrusion first")


@pytest.mark.campaign
@pytest.mark.timeout(3_600)
def test_lines_of_a_hand_against_those_smooth_by_weight() -> None:
    """`before` and `moved` were measured once, on the tree before the lines were bounded."""
    path, after = RESULTS / "hand.json", hand.measured(_not_held())
    found = json.loads(path.read_text()) | {"after": {"summary": hand.summary(after)}}
    path.write_text(json.dumps(found) + "\n")
    for one in after:
        assert one.route not in WORKED_ON or one.steepest_change is None or one.steepest_change <= 0.6 + PRINTED, one


def _not_held() -> Iterator[Case]:
    """Give cases whose lines are all the plan's own."""
    yield from (case for case in demo_cases() if walked(case.patient.reference) and not case.teeth[0].held.cut)
    made = (from_document(document) for document in plausible_cases(TEETH, SEED))
    yield from (case for case in made if not case.teeth[0].held.cut)
