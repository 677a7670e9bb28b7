"""Every paper says what is stored: same bytes again, nothing of the data becomes markup, nothing falls off the page."""

import copy
import hashlib
import io
import json
from dataclasses import replace
from datetime import datetime
from typing import Any

import pytest
import typst
from pypdf import PdfReader

from collum.papers import OPERATING, PAPER_KINDS, PaperKind, PaperRefused, paper
from collum.papers.head import verdict_words
from collum.plan.safety import Closed
from collum.wire.plan.document import PlanDocument
from collum.wording import keys, template, text
from tests.papers.conftest import HEAD, KEPT, OLD, full_plan, old_plan, printed, printed_anew, route_of, sentences
from tests.papers.four_routes import NAMES
from tests.papers.pages import missing_glyphs, pages, paints, ruled_lines_mm, words_of, words_with_size

MOST_BYTES = 200_000
OPEN = ("kept", "kept-four-sites", "kept-twelve-sites")
OF_A_ROUTE = {"flap-sheet": "soft tissue and bone", "extrusion-sheet": "extrusion first"}
PAYLOADS = (
    '#read("/etc/passwd")',
    "#panic()",
    "$x$",
    "../../etc/passwd",
    '"quoted" \\" {{',
    '#import "@preview/x:1.0.0"',
    "<label> @ref *b* _i_ = h",
)


def test_the_made_plan_has_the_form_of_a_stored_one() -> None:
    """The plans of these tests may not drift from what the planner writes."""
    for name in KEPT:
        PlanDocument.model_validate_json(json.dumps(full_plan(name)))


@pytest.mark.parametrize("kind", PAPER_KINDS)
def test_the_same_plan_gives_the_same_bytes(kind: PaperKind) -> None:
    plan = full_plan()
    first = printed_anew(kind, plan)
    assert printed_anew(kind, copy.deepcopy(plan)) == first
    made = PdfReader(io.BytesIO(first)).metadata
    assert made is not None and made.creation_date == datetime.fromisoformat(HEAD.made_at)
    later = printed(kind, plan, head=replace(HEAD, made_at="2026-11-26T09:30:12+00:00"))
    assert hashlib.sha256(later).digest() != hashlib.sha256(first).digest()


@pytest.mark.parametrize("name", OLD)
def test_a_plan_of_the_first_version_still_prints(name: str) -> None:
    """It holds one route and none of the later fields: nothing is made up for it, nothing stands empty."""
    plan = old_plan(name)
    kinds: tuple[PaperKind, ...] = ("chairside-card", "plan-sheet", "findings-sheet")
    for kind in kinds[not name.endswith(OPEN) :]:
        page = words_of(printed(kind, plan))
        assert plan["case_reference"] in page
        for later in ("paper.routes.title", "paper.course.steps", "paper.course.timing", "paper.course.lines"):
            assert text(later) not in page
    sheet = words_of(printed("plan-sheet", plan))
    assert text("paper.route", {"route": "soft tissue only", "verdict": verdict_words(plan["teeth"][0]["routes"][0])}) in sheet


@pytest.mark.parametrize("kind", OF_A_ROUTE)
def test_a_sheet_of_surgery_is_refused_with_the_reason(kind: PaperKind) -> None:
    name = OF_A_ROUTE[kind]
    with pytest.raises(Closed) as refused:
        printed(kind, old_plan("46-kept"))
    assert [(p.rule, p.sentence.parameters["route"]) for p in refused.value.screening.closing] == [("route_not_built", name)]
    for verdict in ("short", "closed", "not needed", "not assessed"):
        plan = full_plan(verdicts=tuple(verdict if other == name else "kept" for other in NAMES))
        with pytest.raises(Closed) as refused:
            printed(kind, plan)
        (point,) = refused.value.screening.closing
        assert (point.sentence.parameters["route"], point.sentence.parameters["verdict"]) == (name, verdict)
        closed = route_of(plan, name)["closed_by"]
        assert point.sentence.parameters.get("why") == (None if closed is None else closed["reason"]["text"])


@pytest.mark.parametrize(
    ("kind", "key", "nothing"), [("flap-sheet", "bone_reduction_mm", [0.05] * 36), ("extrusion-sheet", "extrusion_mm", 0.05)]
)
def test_a_sheet_of_surgery_that_does_nothing_is_refused(kind: PaperKind, key: str, nothing: Any) -> None:
    plan = full_plan()
    route_of(plan, OF_A_ROUTE[kind])[key] = nothing  # what is no more than 0.05 mm is nothing
    with pytest.raises(Closed) as refused:
        printed(kind, plan)
    assert [point.rule for point in refused.value.screening.closing][0].startswith("nothing_done_")


@pytest.mark.parametrize("kind", PAPER_KINDS)
def test_a_tooth_that_is_not_in_the_plan_is_refused(kind: PaperKind) -> None:
    with pytest.raises(IndexError):
        printed(kind, full_plan(), tooth=1)


@pytest.mark.parametrize("kind", PAPER_KINDS)
def test_head_and_foot_tie_the_paper_to_its_record(kind: PaperKind) -> None:
    plan = full_plan()
    page = words_of(printed(kind, plan))
    tooth = plan["teeth"][0]
    for mark in (
        HEAD.plan_id,
        "2026-11-25 09:30 UTC",
        plan["input_sha256"][:12],
        HEAD.result_sha256[:12],
        plan["program_version"],
        text("paper.invented"),
        plan["case_reference"],
        f"{tooth['number']} {tooth['name']['text']} ({tooth['universal']})",
    ):
        assert mark in page


@pytest.mark.parametrize("kind", [kind for kind in PAPER_KINDS if kind not in OPERATING])
def test_what_opens_no_operation_says_so_and_is_never_headed_cleared(kind: PaperKind) -> None:
    page = words_of(printed(kind, full_plan()))
    assert "Not cleared: safety questions unanswered" in page
    assert text("paper.not_cleared_note") in page
    reason = {"key": "safety.state.cleared", "parameters": {}, "text": "Answered."}
    page = words_of(printed(kind, full_plan() | {"safety_cleared": True, "safety_reason": reason}))
    assert text("paper.answered") in page and "leared" not in page


@pytest.mark.parametrize("kind", OPERATING)
def test_a_paper_of_an_operation_says_what_opened_it_and_has_no_line_to_sign_a_stop_away(kind: PaperKind) -> None:
    with pytest.raises(PaperRefused, match="by the gate alone"):
        paper(kind, full_plan(), tooth=0, head=HEAD, case=OLD["46-kept"]["case"])
    page = words_of(printed(kind, full_plan()))
    assert text("paper.cleared", {"opened_at": "2026-11-25 08:00", "by": "DN"}) in page
    assert "Valid until 2026-11-25 20:00 UTC." in page
    assert "Not cleared" not in page and text("paper.not_cleared_note") not in page
    assert "Cleared by (name" not in page


@pytest.mark.parametrize("kind", PAPER_KINDS)
def test_a_real_case_carries_no_invented_mark(kind: PaperKind) -> None:
    plan = full_plan() | {"invented": False}
    page = words_of(printed(kind, plan)).replace(OLD["46-kept"]["case"]["note"], "")
    assert "nvented" not in page


@pytest.mark.parametrize("kind", PAPER_KINDS)
def test_the_check_length_is_50_mm_on_every_page(kind: PaperKind) -> None:
    for page in pages(printed(kind, full_plan())):
        assert ruled_lines_mm(page)[-1] == pytest.approx(50, abs=0.05)


@pytest.mark.parametrize("name", KEPT)
@pytest.mark.parametrize("kind", PAPER_KINDS)
def test_no_glyph_is_missing_and_the_file_stays_small(kind: PaperKind, name: str) -> None:
    pdf = printed(kind, full_plan(name))
    assert missing_glyphs(pdf) == 0
    assert len(pdf) <= MOST_BYTES


@pytest.mark.parametrize("name", KEPT)
@pytest.mark.parametrize("kind", PAPER_KINDS)
def test_every_word_lies_on_the_page(kind: PaperKind, name: str) -> None:
    """A letter of this type is at least 0.4 of its size wide on average, so a line that runs off is found."""
    for page in pages(printed(kind, full_plan(name))):
        width, height = float(page.mediabox.width), float(page.mediabox.height)
        for word in words_with_size(page):
            assert word.x > 0 and word.x + 0.4 * word.size * len(word.text) < width and 0 < word.y < height, word


def test_the_search_for_missing_glyphs_finds_one() -> None:
    made = typst.compile("\N{CJK UNIFIED IDEOGRAPH-9F8D}".encode(), ignore_system_fonts=True, format="pdf")
    assert isinstance(made, bytes)
    assert missing_glyphs(made) > 0


def test_every_letter_of_the_catalogue_can_be_printed() -> None:
    plan = full_plan()
    letters = "".join(sorted({letter for key in keys() for letter in template(key)}))
    plan["teeth"][0]["name"]["text"] = letters
    pdf = printed("plan-sheet", plan)
    assert missing_glyphs(pdf) == 0
    assert set(letters) - {" ", "\n"} <= set(words_of(pdf))


@pytest.mark.parametrize("kind", PAPER_KINDS)
@pytest.mark.parametrize("payload", PAYLOADS)
def test_no_text_of_the_plan_is_ever_markup(kind: PaperKind, payload: str) -> None:
    plan = full_plan()
    for sentence in sentences(plan):
        sentence["text"] = payload
    for name in ("case_reference", "program_version"):
        plan[name] = payload
    for constant in plan["constants"]:
        constant |= {"meaning": payload, "citation": payload, "source": payload}
    pdf = printed(kind, plan, head=replace(HEAD, plan_id=payload))
    page = words_of(pdf)
    assert page.replace(" ", "").count(payload.replace(" ", "")) >= 4
    assert "root:x:" not in page
    assert missing_glyphs(pdf) == 0


@pytest.mark.parametrize("kind", PAPER_KINDS)
def test_long_words_stay_on_the_page(kind: PaperKind) -> None:
    plan = full_plan("33-kept-twelve-sites")
    more = " and so on, for some things take many words"
    for sentence in sentences(plan):
        sentence["text"] += more
    pdf = printed_anew(kind, plan, more=more)
    page = words_of(pdf)
    if kind == "bridge-sheet":  # it names its units anew and says nothing of the plan's own
        assert page.count(more) > 5
    else:
        assert plan["teeth"][0]["name"]["text"] in page
    if kind == "chairside-card":
        assert len(pages(pdf)) == 2
        assert text("paper.card.stop_doubt") in words_of(pdf)


@pytest.mark.parametrize("kind", PAPER_KINDS)
def test_nothing_is_said_by_colour(kind: PaperKind) -> None:
    """Every paint of every page is a grey, so a copy in black and white loses nothing."""
    for page in pages(printed(kind, full_plan())):
        assert paints(page) != []
        for paint in paints(page):
            assert max(paint) - min(paint) < 1e-6, paint
