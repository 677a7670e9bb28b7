"""Called kept, short in truth: at most 5 % of the calls, on mouths of the first two populations (the third is reported)."""

import json
import time
from pathlib import Path

import pytest

import collum
from campaigns.verdicts import Call, calls_of, summary, unsafe_share
from tests.making.mouths import POPULATIONS

MOUTHS, SEED = 1_000, 20_252
RESULTS = Path(__file__).resolve().parents[2] / "docs" / "results"
LIMIT = 0.05


@pytest.mark.slow
def test_small_twin() -> None:
    """Of about 150 calls the limit and three binomial standard errors (0.018 each) of so few."""
    found = unsafe_share(calls_of("prior", 60, SEED + 1))
    assert found["kept"] > 100
    assert found["share"] < LIMIT + 3 * 0.018


def test_a_call_that_is_short_in_truth_is_counted() -> None:
    said = [Call(requirement="ferrule", verdict="kept", probability=0.95, holds=holds) for holds in (True, True, True, False)]
    others = [Call(requirement="ferrule", verdict="short", probability=0.1, holds=False)]
    found = unsafe_share(said + others)
    assert (found["kept"], found["short_in_truth"], found["share"]) == (4, 1, 0.25)
    assert found["low"] < 0.05 < 0.25 < found["high"]


@pytest.mark.campaign
@pytest.mark.timeout(7200)
def test_full_size() -> None:
    found = {population: calls_of(population, MOUTHS, SEED) for population in POPULATIONS}
    result = {
        "what": "requirements called kept against the truth of simulated mouths",
        "date": time.strftime("%Y-%m-%d", time.gmtime()),
        "program_version": collum.__version__,
        "mouths_each": MOUTHS,
        "seed": SEED,
        "populations": {name: {"all": unsafe_share(calls), **summary(calls)} for name, calls in found.items()},
    }
    RESULTS.mkdir(exist_ok=True)
    (RESULTS / "verdicts.json").write_text(json.dumps(result, indent=1) + "\n", encoding="utf-8")
    for name in POPULATIONS[:2]:
        assert unsafe_share(found[name])["share"] <= LIMIT, name
