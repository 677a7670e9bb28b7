"""The papers say what the stored plan says: same numbers, same words, same bytes; nothing of the data becomes markup."""

import copy
import hashlib
import io
from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime
from typing import Any

import pytest
import typst
from pypdf import PdfReader

from collum.documents import PAPER_KINDS, PaperHead, PaperKind, paper
from collum.wording import keys, template, text
from tests.documents.conftest import StoredPlan
from tests.documents.pages import missing_glyphs, pages, ruled_lines_mm, words_of, words_with_size
from tests.making.case_documents import EIGHT, FOUR, SIX, TWELVE, case_document, healthy_document, inflamed_document

MOST_BYTES = 200_000
TEETH = [(17, SIX), (21, FOUR), (33, TWELVE), (46, EIGHT)]
PAYLOADS = (
    '#read("/etc/passwd")',
    "#panic()",
    "$x$",
    "../../etc/passwd",
    '"quoted" \\" {{',
    '#import "@preview/x:1.0.0"',
    "<label> @ref *b* _i_ = h",
)


def shown(mm: float | None) -> str:
    """One decimal, a true minus, no minus zero: the rule of the papers, written a second time."""
    if mm is None:
        return "–"
    rounded = f"{mm:.1f}"
    return "0.0" if rounded == "-0.0" else rounded.replace("-", "−")


@pytest.mark.parametrize("kind", PAPER_KINDS)
def test_the_same_plan_gives_the_same_bytes(stored_plan: StoredPlan, head: PaperHead, kind: PaperKind) -> None:
    plan = stored_plan(case_document())
    first = paper(kind, plan, tooth=0, head=head)
    assert paper(kind, copy.deepcopy(plan), tooth=0, head=head) == first
    made = PdfReader(io.BytesIO(first)).metadata
    assert made is not None and made.creation_date == datetime.fromisoformat(head.made_at)
    later = paper(kind, plan, tooth=0, head=replace(head, made_at="2026-11-26T09:30:12+00:00"))
    assert hashlib.sha256(later).digest() != hashlib.sha256(first).digest()


@pytest.mark.parametrize("kind", PAPER_KINDS)
def test_a_tooth_that_is_not_in_the_plan_is_refused(stored_plan: StoredPlan, head: PaperHead, kind: PaperKind) -> None:
    with pytest.raises(IndexError):
        paper(kind, stored_plan(case_document()), tooth=1, head=head)


@pytest.mark.parametrize(("number", "sites"), TEETH, ids=lambda p: str(p) if isinstance(p, int) else f"{len(p)} sites")
def test_the_card_is_one_page_and_every_depth_is_the_plans(
    stored_plan: StoredPlan, head: PaperHead, number: int, sites: tuple[str, ...]
) -> None:
    plan = stored_plan(case_document(number, sites))
    pdf = paper("chairside-card", plan, tooth=0, head=head)
    assert len(pages(pdf)) == 1
    page = words_of(pdf)
    tooth = plan["teeth"][0]
    assert f"{number} {tooth['name']['text']} ({tooth['universal']})" in page
    for site in tooth["routes"][0]["sites"]:
        assert site["cut"]
        at = tooth["stations_deg"].index(site["station_deg"])
        outer = tooth["levels"]["gingival_margin"]["mean"][at] - tooth["routes"][0]["cut_line_outer"][at]
        mark = "*" if site["will_not_last"] else ""
        depths = (site["attachment_from_margin_mm"], site["bone_from_margin_mm"], site["bone_nearest_from_margin_mm"])
        row = [
            named(site),
            shown(site["stop_from_margin_mm"]) + mark,
            *(shown(mm) for mm in (site["stop_from_landmark_mm"], outer, *depths)),
        ]
        assert " ".join(row) in page
        assert outer > site["stop_from_margin_mm"]


@pytest.mark.parametrize(("number", "sites"), TEETH, ids=lambda p: str(p) if isinstance(p, int) else f"{len(p)} sites")
def test_the_sheet_holds_the_requirements_sites_ledger_and_forecasts_of_the_plan(
    stored_plan: StoredPlan, head: PaperHead, number: int, sites: tuple[str, ...]
) -> None:
    plan = stored_plan(case_document(number, sites))
    pdf = paper("plan-sheet", plan, tooth=0, head=head)
    page = words_of(pdf)
    tooth = plan["teeth"][0]
    route = tooth["routes"][0]
    assert text("paper.route", {"route": route["name"], "verdict": route["verdict"]}) in page
    for r in route["requirements"]:
        if r["value"] is None:
            assert r["reason"]["text"] in page
            continue
        place = text("paper.plan.value_at", {"value_mm": r["value"], "station_deg": r["worst_station_deg"]})
        chance = text("paper.chance", {"share": r["probability"]})
        assert f"{place} {shown(r['limit'])} {chance} {text('paper.chance', {'share': r['confidence']})}" in page
    for site in route["sites"]:
        row = (
            site["stop_from_margin_mm"],
            site["lasting_gain_mm"],
            site["rest_from_margin_mm"],
            site["finish_to_margin_mm"],
            site["reserve_cut_to_attachment_mm"],
            site["reserve_cut_to_bone_mm"],
            site["reserve_finish_line_to_attachment_mm"],
            site["reserve_finish_line_to_crest_mm"],
        )
        assert " ".join([named(site), *(shown(mm) for mm in row)]) in page
    margin = tooth["levels"]["gingival_margin"]["mean"]
    at = [tooth["stations_deg"].index(site["station_deg"]) for site in route["sites"]]
    for name, line in route["rest_line_if"].items():
        words = text(f"paper.plan.{name}")
        assert f"{words} {' '.join(shown(margin[i] - line[i]) for i in at)}" in page
    spare = min(site["ledger"][-1]["amount_mm"] for site in route["sites"])
    assert f"spare {shown(spare)}" in page


def test_the_sheet_opens_with_the_problem_at_the_tightest_site(stored_plan: StoredPlan, head: PaperHead) -> None:
    for document, words in ((case_document(), "to spare."), (healthy_document(), "too little.")):
        plan = stored_plan(document)
        sites = plan["teeth"][0]["routes"][0]["sites"]
        worst = min(sites, key=lambda site: site["ledger"][-1]["amount_mm"])
        brings, *takes, spare = (row["amount_mm"] for row in worst["ledger"])
        page = words_of(paper("plan-sheet", plan, tooth=0, head=head))
        assert f"At {worst['site']}" in page
        assert f"sound tooth begins {shown(brings)} mm above the bone" in page
        assert f"take {shown(-sum(takes))} mm there: {shown(abs(spare))} mm {words}" in page


def test_the_sheet_lists_every_constant_with_range_status_and_source(stored_plan: StoredPlan, head: PaperHead) -> None:
    plan = stored_plan(case_document())
    page = words_of(paper("plan-sheet", plan, tooth=0, head=head))
    bare = page.replace(" ", "")
    named = {key for r in plan["teeth"][0]["routes"][0]["requirements"] for key in r["evidence"]}
    assert len(named) > 5
    for c in plan["constants"]:
        value, low, high = (f"{c[name]:g}".replace("-", "−") for name in ("value", "low", "high"))
        unit = "" if c["unit"] == "1" else c["unit"]
        status = text(f"paper.status.{c['status']}")
        in_full = f"{c['meaning']}{value}{unit}{low}to{high}{c['citation']}{status}".replace(" ", "")
        in_short = f"{c['key']}{value}{unit}({low}to{high}){status},{c['source']}".replace(" ", "")
        assert in_full in bare or (c["key"] not in named and in_short in bare), c["key"]
    assert f"{plan['seed']}, {plan['draws']} draws" in page


@pytest.mark.parametrize("kind", PAPER_KINDS)
def test_head_and_foot_tie_the_paper_to_its_record(stored_plan: StoredPlan, head: PaperHead, kind: PaperKind) -> None:
    plan = stored_plan(case_document())
    page = words_of(paper(kind, plan, tooth=0, head=head))
    for mark in (
        head.plan_id,
        "2026-11-25 09:30 UTC",
        plan["input_sha256"][:12],
        head.result_sha256[:12],
        plan["program_version"],
    ):
        assert mark in page
    assert text("paper.invented") in page
    assert plan["case_reference"] in page


@pytest.mark.parametrize("kind", PAPER_KINDS)
def test_a_plan_that_is_not_cleared_says_so_and_leaves_a_place_to_sign(
    stored_plan: StoredPlan, head: PaperHead, kind: PaperKind
) -> None:
    plan = stored_plan(case_document())
    page = words_of(paper(kind, plan, tooth=0, head=head))
    assert "Not cleared: safety questions unanswered" in page
    assert text("paper.not_cleared_note") in page
    if kind == "chairside-card":
        assert text("paper.signature") in page


def test_a_real_case_carries_no_invented_mark(stored_plan: StoredPlan, head: PaperHead) -> None:
    plan = stored_plan(case_document() | {"invented": False})
    assert "nvented" not in words_of(paper("chairside-card", plan, tooth=0, head=head))


@pytest.mark.parametrize("made", [healthy_document, inflamed_document], ids=["short", "closed"])
def test_a_route_that_is_not_open_prints_its_reason_and_no_depth(stored_plan: StoredPlan, head: PaperHead, made: Any) -> None:
    plan = stored_plan(made())
    route = plan["teeth"][0]["routes"][0]
    assert route["verdict"] in ("short", "closed")
    page = words_of(paper("chairside-card", plan, tooth=0, head=head))
    assert text("paper.card.nothing") in page
    assert route["closed_by"]["reason"]["text"] in page
    assert route["closed_by"]["least_change"]["text"] in page
    for word in ("paper.card.cut", "paper.card.bone", "paper.card.stop_title", "paper.unit", "paper.line.cut_line"):
        assert text(word) not in page
    sheet = words_of(paper("plan-sheet", plan, tooth=0, head=head))
    assert sheet.count(route["closed_by"]["reason"]["text"]) == 1
    assert (text("paper.plan.sites") in sheet) is (route["verdict"] == "short")
    assert ("Definitive finish line" in sheet) is (route["verdict"] == "short")


def test_what_was_not_read_prints_a_dash_and_its_reason(stored_plan: StoredPlan, head: PaperHead) -> None:
    document = case_document()
    del document["teeth"][0]["sites"]["crown_height"]
    plan = stored_plan(document)
    plan["teeth"][0]["routes"][0]["verdict"] = "in doubt"  # not assessed as a whole; here the card's columns are asked for
    reason = plan["teeth"][0]["levels"]["absent"]["occlusal_edge"]["text"]
    card = words_of(paper("chairside-card", plan, tooth=0, head=head))
    assert text("paper.dash_means", {"reason": reason}).replace("  ", " ") in card
    sheet = words_of(paper("plan-sheet", plan, tooth=0, head=head))
    assert reason in sheet
    assert "Not assessed: no crown height was read." in sheet


def test_the_cut_depths_can_be_read_at_a_metre(stored_plan: StoredPlan, head: PaperHead) -> None:
    """8 mm tall at six sites: a digit of this type is 0.65 of its size, so 35 points."""
    plan = stored_plan(case_document())
    page = pages(paper("chairside-card", plan, tooth=0, head=head))[0]
    depths = {shown(site["stop_from_margin_mm"]) for site in plan["teeth"][0]["routes"][0]["sites"]}
    sizes = [word.size for word in words_with_size(page) if word.text in depths]
    assert sum(size >= 35 for size in sizes) == 6


@pytest.mark.parametrize("kind", PAPER_KINDS)
def test_the_check_length_is_50_mm_on_every_page(stored_plan: StoredPlan, head: PaperHead, kind: PaperKind) -> None:
    for page in pages(paper(kind, stored_plan(case_document()), tooth=0, head=head)):
        assert ruled_lines_mm(page)[-1] == pytest.approx(50, abs=0.05)


@pytest.mark.parametrize("kind", PAPER_KINDS)
@pytest.mark.parametrize("made", [case_document, healthy_document, inflamed_document])
def test_no_glyph_is_missing_and_the_file_stays_small(
    stored_plan: StoredPlan, head: PaperHead, kind: PaperKind, made: Any
) -> None:
    pdf = paper(kind, stored_plan(made()), tooth=0, head=head)
    assert missing_glyphs(pdf) == 0
    assert len(pdf) <= MOST_BYTES


def test_the_search_for_missing_glyphs_finds_one() -> None:
    made = typst.compile("\N{CJK UNIFIED IDEOGRAPH-9F8D}".encode(), ignore_system_fonts=True, format="pdf")
    assert isinstance(made, bytes)
    assert missing_glyphs(made) > 0


def test_every_letter_of_the_catalogue_can_be_printed(stored_plan: StoredPlan, head: PaperHead) -> None:
    plan = stored_plan(case_document())
    letters = "".join(sorted({letter for key in keys() for letter in template(key)}))
    plan["teeth"][0]["name"]["text"] = letters
    pdf = paper("plan-sheet", plan, tooth=0, head=head)
    assert missing_glyphs(pdf) == 0
    assert set(letters) - {" ", "\n"} <= set(words_of(pdf))


@pytest.mark.parametrize("kind", PAPER_KINDS)
@pytest.mark.parametrize("payload", PAYLOADS)
def test_no_text_of_the_plan_is_ever_markup(stored_plan: StoredPlan, head: PaperHead, kind: PaperKind, payload: str) -> None:
    document = case_document()
    del document["teeth"][0]["sites"]["sound_height"]  # its reason, a sentence of the plan, then stands as the problem
    plan = stored_plan(document)
    for sentence in sentences(plan):
        sentence["text"] = payload
    for name in ("case_reference", "program_version"):
        plan[name] = payload
    for constant in plan["constants"]:
        constant |= {"meaning": payload, "citation": payload, "source": payload}
    pdf = paper(kind, plan, tooth=0, head=replace(head, plan_id=payload))
    page = words_of(pdf)
    assert page.replace(" ", "").count(payload.replace(" ", "")) >= 5
    assert "root:" not in page
    assert missing_glyphs(pdf) == 0


@pytest.mark.parametrize("kind", PAPER_KINDS)
def test_long_words_stay_on_the_page(stored_plan: StoredPlan, head: PaperHead, kind: PaperKind) -> None:
    plan = stored_plan(case_document(33, TWELVE))
    for sentence in sentences(plan):
        sentence["text"] += " and so on, for some things take many words"
    pdf = paper(kind, plan, tooth=0, head=head)
    page = words_of(pdf)
    assert plan["teeth"][0]["name"]["text"] in page
    if kind == "chairside-card":
        assert len(pages(pdf)) == 1
        assert text("paper.card.stop_doubt") in page


def named(site: dict[str, Any]) -> str:
    """A site that was read at an angle shows its degrees."""
    return f"{site['site']}°" if site["site"].isdigit() else str(site["site"])


def sentences(part: Any) -> Iterator[dict[str, Any]]:
    """Every sentence in a stored plan."""
    if isinstance(part, dict):
        if "text" in part:
            yield part
        else:
            for value in part.values():
                yield from sentences(value)
    elif isinstance(part, list):
        for value in part:
            yield from sentences(value)
