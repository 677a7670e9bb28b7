"""What is recommended is enough in truth as often as is said: a small twin, and the counting itself.

Reported at full size in docs/results/advice.json. Before the floors 61 % of recommendations of bone or extrusion were enough.
"""

from dataclasses import replace

import pytest

from campaigns.advice import Advice, Rule, advice_of, summary

ONE = Advice(
    why="staged",
    route="soft tissue only",
    verdict="in doubt",
    chance=0.4,
    of_ten=4,
    enough=True,
    gum="in doubt",
    spare_mm=1.5,
    rules=(Rule(route="soft tissue only", requirement="ferrule", verdict="kept", holds=True),),
)


def test_each_kind_of_advice_is_counted_apart() -> None:
    bone = replace(ONE, why="in_doubt", route="soft tissue and bone", chance=0.7, of_ten=None, spare_mm=0.0)
    wrong = Rule(route="soft tissue and bone", requirement="ferrule", verdict="kept", holds=False)
    found = summary([ONE, replace(ONE, enough=False), bone, replace(bone, enough=False, rules=(wrong,))])
    assert (found["staged_all"]["told"], found["staged"]["4 of 10"]["share"]) == (2, 0.5)
    assert found["bone_or_extrusion"]["share"] == 0.5
    assert found["gum_alone_with_1_to_2_mm_left"] == {"mouths": 2, "in doubt": 1.0}
    assert (found["met_and_short_in_truth"]["ferrule"]["called"], found["met_and_short_in_truth"]["ferrule"]["wrong"]) == (4, 1)


@pytest.mark.slow
def test_a_recommended_route_is_never_one_of_little_chance() -> None:
    told = [one for one in advice_of("charts", 12, 5) if one.route is not None and one.verdict == "in doubt"]
    assert told
    assert all(one.chance is not None and (one.chance >= 0.5 or one.why == "staged") for one in told)
