"""Plans as the planner makes them today print on every paper they open, and are refused on the others."""

import json
from typing import Any

import pytest

from collum.app.plans.planning import Planner
from collum.case import from_document, to_document
from collum.papers import OPERATING, PAPER_KINDS, PaperKind, PaperRefused, paper
from collum.plan.safety import Closed
from tests.making.case_documents import case_document, healthy_document
from tests.measuring.sheets import answer_of
from tests.papers.conftest import HEAD, named, operated, route_of, route_words, shown
from tests.papers.pages import missing_glyphs, words_of

OPENED_BY = {
    "soft tissue only": ("chairside-card", "scalpel-card"),
    "soft tissue and bone": ("flap-sheet",),
    "extrusion first": ("extrusion-sheet",),
}


@pytest.fixture(scope="module", params=["overgrown", "broken deep", "fractured root"])
def made(request: pytest.FixtureRequest) -> tuple[dict[str, Any], dict[str, Any]]:
    """A plan and its case: soft tissue alone does, bone or extrusion is needed, nothing may be done."""
    if request.param == "broken deep":
        document = healthy_document(44)
        tooth = document["teeth"][0]
        tooth["sites"] |= {"sound_height": [0.5, 0.5, 0.0, 0.0, 0.0, 0.5], "crown_height": [6.0] * 6}
        tooth["root"] = {"length_mm": 20.0}
    else:
        document = case_document()
        document["teeth"][0] |= {"vertical_root_fracture": True} if request.param == "fractured root" else {}
    case = from_document(document)
    return json.loads(Planner(300).plan(case).model_dump_json()), to_document(case)


def _does(route: dict[str, Any]) -> bool:
    """An open route that cuts, lowers bone or moves the tooth; written here a second time."""
    done = [*(site["cut"] for site in route["sites"])] if route["name"] == "soft tissue only" else []
    amount = max([*(route["bone_reduction_mm"] or [0]), route["extrusion_mm"] or 0])
    return route["verdict"] in ("kept", "in doubt") and (any(done) or amount > 0.05)


def _print(kind: PaperKind, plan: dict[str, Any], case: dict[str, Any]) -> bytes:
    if kind in OPERATING:
        return operated(kind, plan, case)
    answer = answer_of(kind, case, plan["teeth"][0]["number"])
    return paper(kind, plan, tooth=0, head=HEAD, case=case, answer=answer)


@pytest.mark.parametrize("kind", PAPER_KINDS)
def test_a_plan_of_today_prints_or_is_refused_with_the_reason(made: Any, kind: PaperKind) -> None:
    plan, case = made
    tooth = plan["teeth"][0]
    opened = {paper for r in tooth["routes"] if _does(r) for paper in OPENED_BY.get(r["name"], ())}
    opened |= {"restoration-sheet" for r in tooth["routes"] if r["finish_line_height_mm"] is not None}
    if kind in (*OPERATING, "restoration-sheet", "bridge-sheet") and kind not in opened:
        with pytest.raises(Closed if kind in OPERATING else PaperRefused):
            _print(kind, plan, case)
        return
    pdf = _print(kind, plan, case)
    page = words_of(pdf)
    assert missing_glyphs(pdf) == 0
    assert plan["case_reference"] in page
    if kind == "plan-sheet":
        for route in tooth["routes"]:
            assert route_words(route["name"]) in page and route["summary"]["survival"]["text"] in page
            if route["closed_by"] is not None:
                assert route["closed_by"]["reason"]["text"] in page


def test_a_flap_of_today_stands_on_its_sheet_with_every_figure(made: Any) -> None:
    plan, case = made
    route = route_of(plan, "soft tissue and bone")
    if route["verdict"] not in ("kept", "in doubt"):
        assert plan["teeth"][0]["recommended_route"] != route["name"]
        return
    page = words_of(operated("flap-sheet", plan, case))
    for site in route["sites"]:
        assert f"{named(site, plan)} {shown(site['bone_reduction_mm'])} " in page
        ends = (site["crest_after_below_margin_mm"], site["stop_below_margin_mm"], site["sutured_above_crest_mm"])
        assert " ".join(shown(mm) for mm in ends) in page
        landmark = site["stop_below_landmark_mm"] - site["stop_below_margin_mm"]
        crest = landmark + site["crest_after_below_margin_mm"]
        assert f"{shown(crest)} {shown(site['stop_below_landmark_mm'])}" in page
