"""Plausible teeth of every class, with the draws that users get: no plan ends in a fault, and how many draws there are changes
what is printed by no more than chance.

Two makers that share no code: one reads a made truth, the other walks the published schema of the case file.
"""

import json
import time
from collections import Counter
from collections.abc import Iterable
from itertools import islice
from typing import Any

import numpy as np
import pytest

import collum
from campaigns.teeth import STANDARD_ERRORS, Difference, Planned, differences, planned, summary
from collum.app.plans.planning import DRAWS
from collum.case import CaseFaults, from_document, schema, to_document
from collum.case.layout import RECORDED_TOOTH
from collum.case.parts import written
from collum.vocabulary import ROUTES
from tests.judged.test_calibration import RESULTS
from tests.making.plausible_teeth import plausible_cases
from tests.making.teeth import broken_premolar, case_of
from tests.making.teeth_by_schema import teeth_by_schema

SEED, SMALL_SEED = 2_611, 2_612
CASES = {"teeth": 2_000, "teeth-by-schema": 1_150}  # by maker, as its results are named; at least 2,000 teeth each
SMALL, SMALL_BY_SCHEMA = 150, 20
BATCHES, BATCHES_BY_SCHEMA = 10, 2
MOST_REFUSED = 0.1  # of those by schema: what only the whole of a case can tell, the schema does not
NUMBERS_OF_DRAWS = (3_999, 4_000, 10_000)  # steered by all draws, by a quarter of them, and what users get
TEETH_COMPARED, SEEDS = {"teeth": 32, "teeth-by-schema": 12}, 12
MOST_BEYOND = 0.02  # of all numbers; a share of 0.012 of t with 11 degrees of freedom lies beyond three, and neighbours agree


@pytest.mark.slow
@pytest.mark.parametrize("batch", range(BATCHES))
def test_no_plan_ends_in_a_fault(batch: int) -> None:
    cases = list(plausible_cases(SMALL, SMALL_SEED))[batch::BATCHES]
    for one in planned(cases, DRAWS):
        _assert_whole(one)
        assert not one.refused


@pytest.mark.slow
@pytest.mark.parametrize("batch", range(BATCHES_BY_SCHEMA))
def test_no_plan_of_what_the_schema_allows_ends_in_a_fault(batch: int) -> None:
    cases = list(_made("teeth-by-schema", SMALL_BY_SCHEMA, SMALL_SEED))[batch::BATCHES_BY_SCHEMA]
    for one in planned(cases, DRAWS):
        _assert_whole(one)


def test_what_the_schema_allows_is_varied_and_mostly_taken() -> None:
    cases = list(_made("teeth-by-schema", SMALL, SMALL_SEED))
    teeth = [from_document(case).teeth for case in cases if _is_taken(case)]
    assert len(teeth) >= (1 - MOST_REFUSED) * SMALL
    numbers = Counter(tooth.number for of_case in teeth for tooth in of_case)
    assert len(numbers) == 32
    assert {len(of_case) for of_case in teeth} == {1, 2, 3}
    assert {tooth.role for of_case in teeth for tooth in of_case} == {"crown", "abutment", "neighbour"}
    assert {len(tooth.sites) for of_case in teeth for tooth in of_case} >= set(range(1, 13))
    recorded = {key for of_case in teeth for tooth in of_case for key in written(tooth.facts)}
    assert recorded == RECORDED_TOOTH.keys()
    for key in ("bridges", "visits"):
        assert SMALL / 10 < sum(key in case for case in cases) < SMALL / 2, key


def test_the_teeth_are_as_varied_as_they_claim() -> None:
    cases = list(plausible_cases(SMALL, SMALL_SEED))
    teeth = [case["teeth"][0] for case in cases]
    assert Counter(tooth["number"] % 10 for tooth in teeth).keys() == set(range(1, 9))
    assert {tooth["state"] for tooth in teeth} == {"healthy", "overgrown", "unknown", "inflamed"}
    assert {tooth["sites"]["step"] for tooth in teeth} == {0.5, 1.0}
    assert sum("bridges" in case for case in cases) > SMALL / 10
    for kind in ("probing_depth", "bone_sounding", "crown_height", "sound_height", "cej_height", "keratinised_width"):
        left_out = sum(kind not in tooth["sites"] for tooth in teeth)
        assert 0 < left_out < SMALL, kind
    readings = [mm for tooth in teeth for found in tooth["sites"].values() if isinstance(found, dict) for mm in found.values()]
    assert "not measurable" in readings and {"beyond": 10.0} in readings and any(isinstance(mm, list) for mm in readings)


def test_a_molar_raised_close_to_bone_is_planned_on_thinned_draws() -> None:
    """Steered by a quarter of the draws, the furcation counted from a crest that is lowered in each: it ended in a fault."""
    case = next(c for i, c in enumerate(plausible_cases(45, 1)) if i == 44)
    assert planned([case], NUMBERS_OF_DRAWS[1])[0].fault is None


@pytest.mark.slow
def test_the_number_of_draws_changes_what_is_printed_by_chance_alone() -> None:
    found = differences(to_document(case_of(broken_premolar())), NUMBERS_OF_DRAWS, seeds=6)
    assert len(found) > 100
    assert _share_beyond(found) <= MOST_BEYOND, _beyond(found)


@pytest.mark.campaign
@pytest.mark.timeout(7200)
@pytest.mark.parametrize("maker", CASES)
def test_full_size_without_a_fault(maker: str) -> None:
    found = planned(_made(maker, CASES[maker], SEED), DRAWS)
    _keep(maker, {"what": "plausible teeth planned with the draws that users get", "seed": SEED, **summary(found)})
    for one in found:
        _assert_whole(one)
    assert sum(one.refused is not None for one in found) <= MOST_REFUSED * CASES[maker]


@pytest.mark.campaign
@pytest.mark.timeout(7200)
@pytest.mark.parametrize("maker", CASES)
def test_full_size_between_numbers_of_draws(maker: str) -> None:
    opened = (case for case in _made(maker, CASES[maker], SEED) if _opens(case))
    cases = list(islice(opened, TEETH_COMPARED[maker]))
    found = [one for case in cases for one in differences(case, NUMBERS_OF_DRAWS, SEEDS)]
    by_pair = {
        " and ".join(map(str, pair)): {
            "numbers": len(of_pair),
            "share_beyond_three_standard_errors": round(_share_beyond(of_pair), 4),
            "largest": max(one.standard_errors for one in of_pair),
        }
        for pair in sorted({one.draws for one in found})
        for of_pair in ([one for one in found if one.draws == pair],)
    }
    what = "numbers printed of a plan with different numbers of draws, in standard errors between seeds"
    _keep(maker.replace("teeth", "draws"), {"what": what, "seed": SEED, "teeth": len(cases), "seeds": SEEDS, "pairs": by_pair})
    assert _share_beyond(found) <= MOST_BEYOND, _beyond(found)[:20]


def _made(maker: str, count: int, seed: int) -> Iterable[dict[str, Any]]:
    return plausible_cases(count, seed) if maker == "teeth" else teeth_by_schema(schema(), count, seed)


def _is_taken(case: dict[str, Any]) -> bool:
    try:
        from_document(case)
    except CaseFaults:
        return False
    return True


def _opens(case: dict[str, Any]) -> bool:
    """Return whether the first tooth has a route with lines, so that there is something to compare."""
    (found,) = planned([case], 200)
    return any(route.cut_line_height_mm is not None for tooth in found.teeth[:1] for route in tooth.routes)


def _share_beyond(found: list[Difference]) -> float:
    return float(np.mean([one.standard_errors > STANDARD_ERRORS for one in found]))


def _beyond(found: list[Difference]) -> list[Difference]:
    return [one for one in found if one.standard_errors > STANDARD_ERRORS]


def _assert_whole(one: Planned) -> None:
    """Every tooth has all its routes, each with lines or a reason, and no number that is none."""
    assert one.fault is None, f"{one.reference}, tooth {one.number}: {one.fault}"
    for tooth in one.teeth:
        json.dumps(tooth.model_dump(), allow_nan=False)
        assert tuple(route.name for route in tooth.routes) == ROUTES
        assert all(route.cut_line_height_mm is not None or route.explanation or route.closed_by for route in tooth.routes)


def _keep(name: str, found: dict[str, object]) -> None:
    head = {"date": time.strftime("%Y-%m-%d", time.gmtime()), "program_version": collum.__version__, "draws": DRAWS}
    RESULTS.mkdir(exist_ok=True)
    (RESULTS / f"{name}.json").write_text(json.dumps({**head, **found}, indent=1) + "\n", encoding="utf-8")
