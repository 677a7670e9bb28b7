"""Not pretty on one case only: two hundred made cases, and sixty more in which every route opens, are planned, drawn and
printed.

No exception, no NaN, no empty figure, no name of a drawing on another.
"""

import json
import re
from collections import Counter
from collections.abc import Iterable, Iterator
from itertools import cycle, islice, product
from typing import Any

import pytest

from collum.app.plans.planning import Planner
from collum.case import from_document, to_document
from collum.papers import OPERATING, PAPER_KINDS, PaperHead, PaperKind, PaperRefused, paper
from collum.papers.strip import strip_svg
from collum.plan.safety import Closed
from collum.vocabulary import ROUTES
from tests.making import clinic
from tests.making.coherent_cases import coherent_cases
from tests.making.many_cases import PERMANENT, many_cases
from tests.measuring.heat import paced
from tests.measuring.sheets import answer_of
from tests.papers.conftest import operated
from tests.papers.drawings import LABELS, SIZES, assert_clear
from tests.papers.pages import words_of

COUNT, BATCHES = 200, 20
COHERENT, COHERENT_BATCHES = 60, 6  # readings that hang together, so that every route is open in some
MAY_BE_REFUSED = ("chairside-card", "scalpel-card", "flap-sheet", "extrusion-sheet", "restoration-sheet", "bridge-sheet")
# Every case is planned and drawn. Making its papers takes longer than both, and taking the words out of them longer still: a
# case has a few of the kinds, in turn, and the words of one case in so many are read.
KINDS, COHERENT_KINDS, READ_EVERY = 2, 4, 8
SEED = 2511
HEAD = PaperHead(plan_id="0195f3a2-7b1e-7c3d-9a41-000000000000", made_at="2026-11-25T09:30:12+00:00", result_sha256="ab" * 32)
CASES = list(many_cases(COUNT, SEED))
# None of them has a box or was tried under the dam: a margin that is raised and cusps that are covered are added.
COHERENT_CASES = [*coherent_cases(COHERENT, SEED), *map(clinic.patient_with, (clinic.deep_box(), clinic.low_crown()))]
NO_FIGURE = re.compile(r"\b(nan|NaN|inf|None|null|undefined)\b|\{[a-z_]+\}")


def test_the_cases_are_as_varied_as_they_claim() -> None:
    teeth = [case["teeth"][0] for case in CASES]
    assert {tooth["number"] for tooth in teeth} == set(PERMANENT)
    sites = Counter(len(tooth["sites"]["order"]) for tooth in teeth)
    assert set(range(4, 13)) | {1} == set(sites)
    assert any("bone_sounding" not in tooth["sites"] for tooth in teeth)
    extremes = {mm for tooth in teeth for mm in tooth["sites"].get("probing_depth", {}).values() if isinstance(mm, float)}
    assert {0.0, 15.0} <= extremes


@pytest.mark.slow
@pytest.mark.parametrize("batch", range(BATCHES))
def test_planned_and_printed(batch: int) -> None:
    _plan_and_print(range(batch, COUNT, BATCHES), CASES, KINDS)


@pytest.mark.slow
@pytest.mark.parametrize("batch", range(COHERENT_BATCHES))
def test_planned_and_printed_where_readings_hang_together(batch: int) -> None:
    _plan_and_print(range(batch, len(COHERENT_CASES), COHERENT_BATCHES), COHERENT_CASES, COHERENT_KINDS)


@pytest.mark.slow
def test_every_route_opens_in_some_of_them() -> None:
    """Each is kept in some and not in others; no more are planned than show it."""
    planner, wanted = Planner(300), set(product(ROUTES, (True, False)))
    for case in COHERENT_CASES:
        wanted -= {(route.name, route.verdict == "kept") for route in planner.plan(from_document(case)).teeth[0].routes}
        if not wanted:
            break
    assert wanted == set()


def _plan_and_print(numbers: Iterable[int], cases: list[dict[str, Any]], kinds: int) -> None:
    planner = Planner()
    for number in numbers:
        case = cases[number]
        reference = case["patient"]["reference"]
        made = planner.plan(from_document(case), draws=500).model_dump()
        plan = json.loads(json.dumps(made, allow_nan=False))
        tooth = plan["teeth"][0]
        assert [route["name"] for route in tooth["routes"]] == list(ROUTES), reference
        for route in tooth["routes"]:
            _assert_whole(route, tooth["levels"]["gingival_margin"]["mean_height_mm"], reference)
        for shown, size in product((None, *plan["teeth"][0]["routes"]), SIZES):
            assert_clear(strip_svg(plan["teeth"][0], shown, LABELS, width=size[0], height=size[1]), size)
        heat = paced(tooth["number"]).model_dump(mode="json")  # the round of another case: what a card prints, not what it says
        for kind in _in_turn(number, kinds):
            try:
                found = to_document(from_document(case))
                if kind in OPERATING:
                    printed = operated(kind, plan, found, head=HEAD, heat=heat if kind == "chairside-card" else None)
                else:
                    answer = answer_of(kind, found, tooth["number"])
                    printed = paper(kind, plan, tooth=0, head=HEAD, case=found, answer=answer)
            except (PaperRefused, Closed) as refused:
                assert kind in MAY_BE_REFUSED and "{" not in str(refused), reference
                continue
            assert printed.startswith(b"%PDF-"), reference
            if number % READ_EVERY:
                continue
            words = words_of(printed)
            assert reference in words
            assert not NO_FIGURE.search(words), f"{reference}: {NO_FIGURE.search(words)}"


def _in_turn(number: int, kinds: int) -> Iterator[PaperKind]:
    """Yield the kinds of paper that a case has, so that all are printed as often over the cases."""
    return islice(cycle(PAPER_KINDS), number * kinds, (number + 1) * kinds)


def _assert_whole(route: dict[str, Any], margin: list[float], reference: str) -> None:
    """A route offers lines or says why not; nothing rests coronal of the old margin, and nothing is left empty."""
    name = f"{reference} {route['name']}"
    offers = route["cut_line_height_mm"] is not None
    assert not (offers and route["verdict"] == "closed"), name
    assert offers or route["verdict"] in ("closed", "not needed", "not assessed"), name
    against = route["verdict"] in ("short", "closed") or route["likelihood"] == "unlikely"
    assert (route["closed_by"] is not None) == against, name
    assert offers or route["explanation"] or route["closed_by"], name
    if offers:
        down = route["extrusion_mm"] or 0
        assert all(cut <= top - down + 1e-6 for cut, top in zip(route["cut_line_height_mm"], margin, strict=True)), name
        assert all(rest <= top - down + 1e-6 for rest, top in zip(route["rest_line"]["p95_height_mm"], margin, strict=True)), (
            name
        )
    for said in route["requirements"]:
        assert (said["probability"] is None) == (said["verdict"] in ("not assessed", "not needed")), (name, said["id"])
