"""Called kept, short in truth: at most 5 % of the calls of every route, and chances that mean what they say.

The unsafe direction is judged on mouths of the first two populations, the third is reported. That 0.9 means 0.9 is judged
on the first, whose levels are those believed: of `charts` the true floor of the sulcus is not what charts and probes say
together (test_calibration.py), so there it is reported.
"""

import json
import time
from collections import Counter
from math import sqrt
from pathlib import Path

import pytest

import collum
from campaigns.verdicts import Call, calls_of, reliability_near, summary, unsafe_share
from collum.vocabulary import RouteName
from tests.making.mouths import POPULATIONS
from tests.measuring.as_peer import STATED

MOUTHS, SEED = 2_000, 20_252
TWIN_MOUTHS = 36
RESULTS = Path(__file__).resolve().parents[2] / "docs" / "results"
LIMIT = 0.05
RELIABLE_TO = 0.03


@pytest.fixture(scope="module")
def few() -> list[Call]:
    return calls_of("prior", TWIN_MOUTHS, SEED + 1)


@pytest.mark.slow
@pytest.mark.parametrize("name", STATED)
def test_small_twin_of_each_route(few: list[Call], name: RouteName) -> None:
    """The limit and three binomial standard errors of so few calls."""
    found = unsafe_share([call for call in few if call.route == name])
    assert found["kept"] > 60
    assert found["share"] < LIMIT + 3 * sqrt(LIMIT * (1 - LIMIT) / found["kept"])


@pytest.mark.slow
def test_small_twin_of_the_chances(few: list[Call]) -> None:
    """Calls of one mouth hang together, so the error is that of as many as there are mouths, not calls."""
    count, said, held = reliability_near(few, 0.85, 0.95)
    assert count > TWIN_MOUTHS
    assert held == pytest.approx(said, abs=RELIABLE_TO + 3 * sqrt(0.09 / TWIN_MOUTHS))
    held_of_all = sum(call.holds for call in few) / len(few)
    assert held_of_all == pytest.approx(sum(call.probability for call in few) / len(few), abs=0.06)


def call(*, verdict: str = "kept", probability: float = 0.95, holds: bool = True) -> Call:
    return Call(route="soft tissue only", requirement="ferrule", verdict=verdict, probability=probability, holds=holds)


def test_a_call_that_is_short_in_truth_is_counted() -> None:
    said = [call(holds=holds) for holds in (True, True, True, False)]
    found = unsafe_share([*said, call(verdict="short", probability=0.1, holds=False)])
    assert (found["kept"], found["short_in_truth"], found["share"]) == (4, 1, 0.25)
    assert found["low"] < 0.05 < 0.25 < found["high"]


def test_a_band_of_chances_holds_its_own_calls() -> None:
    calls = [call(probability=p, holds=p < 0.93) for p in (0.84, 0.85, 0.92, 0.94, 0.95)]
    count, said, held = reliability_near(calls, 0.85, 0.95)
    assert (count, said, held) == (3, pytest.approx(2.71 / 3), pytest.approx(2 / 3))


@pytest.mark.campaign
@pytest.mark.timeout(7200)
def test_full_size() -> None:
    found = {population: calls_of(population, MOUTHS, SEED) for population in POPULATIONS}
    result = {
        "what": "requirements called kept on every route against the truth of simulated mouths",
        "date": time.strftime("%Y-%m-%d", time.gmtime()),
        "program_version": collum.__version__,
        "mouths_each": MOUTHS,
        "seed": SEED,
        "populations": {name: _told(calls) for name, calls in found.items()},
    }
    RESULTS.mkdir(exist_ok=True)
    (RESULTS / "verdicts.json").write_text(json.dumps(result, indent=1) + "\n", encoding="utf-8")
    misses = []
    for name in POPULATIONS[:2]:
        for route, calls in _by_route(found[name]).items():
            share = unsafe_share(calls)["share"]
            _, said, held = reliability_near(calls, 0.85, 0.95)
            if share > LIMIT or (name == POPULATIONS[0] and abs(held - said) > RELIABLE_TO):
                misses.append(f"{name} {route}: kept and short {share}, said {said:.3f}, held {held:.3f}")
    assert not misses


def _told(calls: list[Call]) -> dict[str, object]:
    told: dict[str, object] = {}
    for route, of_route in _by_route(calls).items():
        count, said, held = reliability_near(of_route, 0.85, 0.95)
        near = {"calls": count, "said": round(said, 3), "held": round(held, 3)}
        told[route] = {"all": unsafe_share(of_route), "near_0.9": near, **summary(of_route)}
    return told


def _by_route(calls: list[Call]) -> dict[str, list[Call]]:
    return {route: [call for call in calls if call.route == route] for route in Counter(call.route for call in calls)}
