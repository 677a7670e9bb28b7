"""The safety screening at the chair: answered by keyboard or touch, closed until cleared, never by a default."""

import re
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Locator, Page, expect

from collum.case import to_document
from collum.evidence.safety_layers import HISTORY
from collum.evidence.safety_rules import OF_PLAN, RULES
from tests.browser.conftest import ASK, cell, id_of, note_elsewhere, open_made, premolar, settle, turn, violations
from tests.making.teeth import case_of, overgrown_premolar

OPEN_VISIT = f"""async ([id]) => {{ {ASK}
  const {{ revision }} = await ask("GET", `/cases/${{id}}`);
  return ask("POST", `/cases/${{id}}/visits`, {{ base_revision: revision, kind: "cut", by: "DN" }}); }}"""
PACE_MS = 70  # between two keys: quicker than a hand, slower than the limit of requests


def overgrown() -> dict[str, Any]:
    """A tooth for which soft tissue alone is open; `premolar` is one for which flap with bone is."""
    return to_document(case_of(overgrown_premolar()))


def start(page: Page, document: dict[str, Any] | None = None) -> None:
    open_made(page, document or overgrown(), "At the chair")
    expect(page.get_by_test_id("gate")).to_have_text("the card is closed")
    begin(page)


def begin(page: Page) -> None:
    page.get_by_label("who asks").fill("DN")
    page.get_by_role("button", name="Start the visit").click()
    expect(page.locator('.layer[data-layer="agreement"]')).to_be_visible()


def harmless(asked: str) -> str:
    """Return the key of the answer that closes nothing, for a question or a line of the room."""
    rule = next((rule for rule in RULES if rule.id == asked), None)
    return "n" if rule is not None and rule.on == "yes" else "y"


def step(page: Page, layer: str) -> None:
    page.locator(f'[data-step="{layer}"]').click()
    expect(page.locator(f'.layer[data-layer="{layer}"]')).to_be_visible()


def named(page: Page, layer: str, code: str) -> None:
    page.locator(f'[data-by="{layer}"]').fill(code)
    page.locator(f'[data-by="{layer}"]').press("Enter")


def by_keys(page: Page, **others: str) -> None:
    """Answer what the page asks by one key each, from the first on, then turn on to the next page; `others` otherwise."""
    page.locator('[data-ask] [tabindex="0"]').first.focus()
    for asked in page.eval_on_selector_all("[data-ask]", "all => all.map(e => e.dataset.ask)"):
        page.keyboard.press(others.get(asked, harmless(asked)))
        page.wait_for_timeout(PACE_MS)
    expect(page.locator("[data-onward]")).to_be_focused()
    page.keyboard.press("Enter")


def answer_all(page: Page, *, count: bool = True, **others: str) -> None:
    """Go through the layers as on the day: who answers, every question by one key, who does what, the tooth counted aloud."""
    for layer, pages in (("agreement", 1), ("history", 3), ("tooth", 2), ("room", 1)):
        expect(page.locator(f'.layer[data-layer="{layer}"]')).to_be_visible()
        named(page, layer, "DN" if layer in ("agreement", "tooth") else "AB")
        if layer == "room" and page.locator("[data-role]").count():
            for role, code in (("operator", "DN"), ("suction", "AB"), ("plate", "AB")):
                say_role(page, role, code)
        for _ in range(pages):
            by_keys(page, **others)
    settle(page)
    page.wait_for_selector('.gate[data-current="true"]')
    if count:
        count_aloud(page)


def count_aloud(page: Page, quarter: str = "lower right", place: str = "5", instrument: str = "electrode") -> None:
    """Enter the time-out of 45, unless told otherwise."""
    step(page, "time_out")
    form = page.locator("form.time-out")
    form.get_by_label(quarter).check()
    form.locator(f'input[name="position"][value="{place}"]').check()
    form.get_by_label(instrument).check()
    form.get_by_label("name").fill("Dr. Invented")
    form.get_by_role("button", name="Enter the time-out").click()


def say_role(page: Page, role: str, code: str) -> None:
    page.locator(f'[data-role="{role}"]').fill(code)
    page.locator(f'[data-role="{role}"]').press("Tab")


def ask(page: Page, layer: str, asked: str) -> Locator:
    """Turn to the page of a question and return it."""
    step(page, layer)
    found = page.locator(f'[data-ask="{asked}"]')
    while layer in ("history", "tooth") and not found.count():
        page.locator("[data-onward]").click()
    return found


def test_nothing_is_answered_beforehand_and_no_question_is_shown_before_a_visit(page: Page) -> None:
    open_made(page, premolar(), "At the chair")
    expect(page.locator(".asked-list")).to_contain_text("Start the visit first")
    assert page.locator("[data-ask]").count() == 0
    expect(page.locator(".alternative")).to_contain_text("scalpel")
    begin(page)
    assert page.locator("[data-ask]").count() == 2  # consent, person-tooth-plan
    assert page.locator('[aria-checked="true"]').count() == 0
    assert page.get_by_role("button", name=re.compile("all.*no", re.IGNORECASE)).count() == 0
    expect(page.get_by_role("button", name="Open and print the card")).to_be_disabled()


def test_all_is_answered_by_one_key_each_and_the_card_opens_after_the_time_out(page: Page, tmp_path: Path) -> None:
    start(page)
    answer_all(page, count=False)
    expect(page.locator(".gate")).to_contain_text("Everything but the time-out is answered")
    expect(page.get_by_test_id("gate")).to_have_text("the card is closed")
    assert page.locator("button.primary:visible").count() == 1
    assert violations(page) == []
    count_aloud(page, place="6")
    expect(page.get_by_role("alert")).to_contain_text("Stop. You counted 46; the plan is for 45")
    expect(page.get_by_test_id("gate")).to_have_text("the card is closed")
    count_aloud(page)
    expect(page.get_by_test_id("time-out")).to_contain_text("45, right, electrode (wire or loop); Dr. Invented")
    expect(page.get_by_test_id("gate")).to_have_text("the card may be opened")
    assert page.locator(".alternative").count() == 0
    for name, file in (("Open and print the card", "chairside-card.pdf"), ("Print the answers", "safety-checklist.pdf")):
        with page.expect_download() as download:
            page.get_by_role("button", name=name).click()
        assert download.value.suggested_filename == f"T-001-{file}"
        download.value.save_as(tmp_path / file)
        assert (tmp_path / file).read_bytes().startswith(b"%PDF")
    # An answer taken back closes the card again.
    ask(page, "history", "cochlear_implant").locator('[aria-checked="true"]').click()
    expect(page.get_by_test_id("gate")).to_have_text("the card is closed")
    expect(page.locator(".left")).to_contain_text("1 question left")


def test_a_stop_has_no_way_round_and_what_may_be_answered_for_asks_for_name_and_reason(page: Page) -> None:
    start(page)
    answer_all(page, count=False, cardiac_device="y")
    step(page, "room")
    page.locator('[data-ask="smoke"]').get_by_role("radio", name="not done").click()  # the line opens, each part is asked
    expect(page.locator(".left")).to_contain_text("2 questions left")
    page.locator('.parts [data-ask="suction_close"]').get_by_role("radio", name="done", exact=True).click()
    page.locator('.parts [data-ask="masks"]').get_by_role("radio", name="not done").click()
    stop = page.locator('[data-point="cardiac_device"]')
    expect(stop).to_contain_text("Ask the physician in writing")
    assert stop.get_by_role("button").count() == 0
    masks = page.locator('[data-point="masks"]')
    masks.get_by_role("button", name="Enter name and reason").click()
    masks.get_by_label("name").fill("Dr. Invented")
    masks.get_by_label("reason").fill("Delivered tomorrow; surgical masks and two suctions today.")
    masks.get_by_role("button", name="Enter", exact=True).click()
    expect(masks).to_contain_text("Answered for by Dr. Invented")
    assert page.locator('.points [data-outcome="ask"]').count() == 1
    step(page, "time_out")
    expect(page.locator(".layer")).to_contain_text("First everything before it")
    ask(page, "history", "cardiac_device").get_by_role("radio", name="no", exact=True).click()
    settle(page)
    count_aloud(page)
    expect(page.get_by_test_id("gate")).to_have_text("the card may be opened")


def test_not_known_counts_as_the_answer_that_closes_and_offers_the_letter(page: Page, tmp_path: Path) -> None:
    start(page)
    asked = ask(page, "history", "bleeding_disorder")
    asked.get_by_role("radio", name="not known").click()
    expect(asked).to_have_class(re.compile(r"\bcloses\b"))
    expect(asked.locator(".told")).to_contain_text("physician")
    settle(page)
    with page.expect_download() as download:
        page.get_by_role("button", name="letter to the physician").click()
    download.value.save_as(tmp_path / "letter.pdf")
    assert (tmp_path / "letter.pdf").read_bytes().startswith(b"%PDF")


def test_without_a_plate_one_answer_does_for_the_plate_as_a_whole(page: Page) -> None:
    start(page)
    step(page, "room")
    assert page.locator("[data-ask]").count() == 8  # lines that are read aloud
    plate = page.locator('[data-ask="plate"]')
    plate.get_by_role("radio", name="does not apply").click()
    expect(page.locator('[data-ask="watch"]')).to_have_count(0)
    expect(page.locator('.points [data-point="plate_contact"]')).to_contain_text("without a plate the burn")
    plate.get_by_role("radio", name="done", exact=True).click()
    expect(page.locator('[data-ask="watch"]')).to_have_count(1)


def test_a_sheet_of_surgery_is_asked_what_concerns_it_and_opened_here_too(page: Page, tmp_path: Path) -> None:
    start(page, premolar())
    expect(page.locator(".gate")).to_contain_text("Soft tissue only is short")
    page.get_by_label("flap and bone").check()
    step(page, "room")
    expect(page.locator("[data-ask]")).to_have_count(4)
    step(page, "agreement")
    for layer, pages in (("agreement", 1), ("history", 3), ("tooth", 1), ("room", 1)):
        named(page, layer, "DN")
        for _ in range(pages):
            by_keys(page, cardiac_device="y")
    settle(page)
    count_aloud(page)
    expect(page.get_by_role("alert")).to_contain_text("another instrument")
    count_aloud(page, instrument="scalpel")
    expect(page.get_by_test_id("gate")).to_have_text("the sheet may be opened")
    with page.expect_download() as download:
        page.get_by_role("button", name="Open and print the sheet").click()
    assert download.value.suggested_filename == "T-001-flap-sheet.pdf"
    ask(page, "history", "jaw_irradiated").get_by_role("radio", name="yes").click()
    expect(page.get_by_test_id("gate")).to_have_text("the sheet is closed")
    expect(page.get_by_role("button", name="Open and print the sheet")).to_be_disabled()
    assert violations(page) == []


def test_a_recorded_stop_or_drug_is_corrected_by_name_and_not_answered_away(page: Page) -> None:
    document = overgrown()
    document["patient"]["stops"] = ["pacemaker"]
    document["patient"]["drugs"] = ["warfarin", "paracetamol"]
    start(page, document)
    for asked in ("cardiac_device", "blood_thinner"):
        ask(page, "history", asked).get_by_role("radio", name="no", exact=True).click()
    expect(page.locator(".recorded")).to_contain_text("Drug: warfarin")
    stop = page.locator('[data-point="recorded_stops"]')
    expect(stop).to_contain_text("pacemaker")
    expect(page.get_by_test_id("gate")).to_have_text("the card is closed")
    stop.get_by_role("button", name="pacemaker").click()
    stop.get_by_label("What").select_option("cardiac_device")
    stop.get_by_label("name").fill("Dr. Invented")
    stop.get_by_label("why").fill("The letter of the clinic says so.")
    stop.get_by_role("button", name="Enter", exact=True).click()
    device = page.locator('[data-point="cardiac_device"]')
    expect(device).to_contain_text("The record of the patient says yes, the answer of this visit says no")
    thinner = page.locator('[data-point="blood_thinner"]')
    expect(thinner).to_contain_text("The record of the patient says yes, the answer of this visit says no")
    drugs = page.locator('[data-point="recorded_drugs"]')
    drugs.get_by_role("button", name="Remove warfarin from the record").click()
    drugs.get_by_label("name").fill("Dr. Invented")
    drugs.get_by_label("why").fill("Mistyped.")
    drugs.get_by_role("button", name="Remove warfarin from the record").click()
    expect(thinner).to_have_count(0)
    expect(drugs).to_contain_text("paracetamol")
    expect(page.get_by_test_id("gate")).to_have_text("the card is closed")
    assert violations(page) == []


def test_what_was_answered_for_other_readings_stands_open_again_with_the_reason(page: Page) -> None:
    start(page)
    answer_all(page)
    expect(page.get_by_test_id("gate")).to_have_text("the card may be opened")
    turn(page, "Findings")
    probing = cell(page, "probing_depth", "F")
    probing.fill("2")
    probing.press("Tab")
    settle(page)
    turn(page, "At the chair")
    expect(page.get_by_test_id("gate")).to_have_text("the card is closed")
    expect(page.locator(".gate")).to_contain_text("11 of them were answered for another plan and are asked again")
    expect(page.locator(".left")).to_contain_text(f"{len(OF_PLAN)} questions left to answer")
    asked = ask(page, "tooth", "thin_over_bone")
    expect(asked).to_have_class(re.compile(r"\bopen\b"))
    expect(asked.locator(".told")).to_contain_text("Asked again. Answered for another plan")
    expect(asked.locator(".told")).to_contain_text("Before: no.")
    # By the keys alone, from one open question to the next.
    for _ in range(len(OF_PLAN) - 1):
        page.get_by_role("button", name="Go to the next").click()
        page.keyboard.press(harmless(page.evaluate("document.activeElement.closest('[data-ask]').dataset.ask")))
        page.wait_for_timeout(PACE_MS)
    settle(page)
    count_aloud(page)
    expect(page.get_by_test_id("gate")).to_have_text("the card may be opened")


def test_who_does_what_is_among_what_is_left_and_the_operator_is_not_to_do_it_all(page: Page) -> None:
    start(page)
    expect(page.locator('[data-by="agreement"]')).to_be_focused()  # who answers goes first
    answer_all(page)
    step(page, "room")
    for role in ("operator", "suction", "plate"):
        say_role(page, role, "")
    expect(page.locator(".left")).to_contain_text("1 question left to answer")
    step(page, "agreement")
    page.get_by_role("button", name="Go to the next").click()
    expect(page.locator('[data-role="operator"]')).to_be_focused()
    for role in ("operator", "suction", "plate"):
        say_role(page, role, "DN")
    settle(page)
    expect(page.get_by_test_id("gate")).to_have_text("the card is closed")
    expect(page.locator(".left")).to_contain_text("what the answers mean keeps the card closed")
    alone = page.locator('[data-point="operator_alone"]')
    expect(alone).to_contain_text("DN operates and holds another role too")
    alone.get_by_role("button", name="Enter name and reason").click()
    alone.get_by_label("name").fill("Dr. Invented")
    alone.get_by_label("reason").fill("The suction is fixed, the plate is under the shoulder in sight.")
    alone.get_by_role("button", name="Enter", exact=True).click()
    expect(page.get_by_test_id("gate")).to_have_text("the card may be opened")


def test_the_keys_work_at_once_and_the_counter_follows_each(page: Page) -> None:
    start(page)
    step(page, "history")
    left = page.locator('[data-step="history"]')
    expect(left).to_have_attribute("data-open-count", str(len(HISTORY) + 1))  # the questions, and who asks
    page.route("**/api/v1/safety", lambda route: route.abort("connectionrefused"))
    first, second = HISTORY[:2]
    page.locator(f'[data-ask="{first}"] [tabindex="0"]').focus()
    page.keyboard.press("u")
    expect(left).to_have_attribute("data-open-count", str(len(HISTORY)))  # before the server has said anything
    page.unroute("**/api/v1/safety")
    expect(page.locator(f'[data-ask="{second}"] [tabindex="0"]')).to_be_focused()
    page.keyboard.press("ArrowUp")
    page.keyboard.press("Backspace")
    expect(left).to_have_attribute("data-open-count", str(len(HISTORY) + 1))
    page.keyboard.press("x")  # no answer of this question
    assert page.locator('[data-ask] [aria-checked="true"]').count() == 0
    page.keyboard.press("Control+z")
    assert page.locator('[data-ask] [aria-checked="true"]').count() == 1


def test_a_history_is_read_out_at_the_next_visit_and_a_drug_that_is_new_closes(page: Page) -> None:
    """The list has to have been on the screen; what the patient says is new is entered, and acts."""
    start(page)
    answer_all(page, count=False)
    page.evaluate(OPEN_VISIT, [id_of(page)])
    page.reload()
    page.wait_for_selector(".layer")
    step(page, "history")
    expect(page.locator(".layer")).to_contain_text("Read the list out, as it was on")
    named(page, "history", "AB")
    done = page.locator("[data-read-out]")
    expect(done).to_be_disabled()
    expect(page.locator(".layer")).to_contain_text("not yet on the screen")
    for row in page.locator(".read-list [data-ask]").all():
        row.scroll_into_view_if_needed()
    expect(done).to_be_enabled()
    expect(done).to_have_text("Read out: nothing has changed")
    page.locator("[data-new-drug]").fill("apixaban 5 mg")
    page.locator("[data-new-drug]").press("Enter")
    expect(page.locator(".recorded")).to_contain_text("Drug: apixaban 5 mg")
    page.locator('.read-list [data-ask="blood_thinner"]').get_by_role("radio", name="yes").click()
    expect(done).to_have_text("Read out: 1 change entered")
    page.locator(".recorded li").last.scroll_into_view_if_needed()
    assert violations(page) == []
    settle(page)
    done.click()
    expect(page.get_by_test_id("read-out")).to_contain_text("changes entered: AB")
    expect(page.locator('[data-point="blood_thinner"]')).to_contain_text("which drug it is")
    expect(page.locator('[data-step="history"]')).to_have_attribute("data-open-count", "0")


@pytest.mark.parametrize("leaf", ["Findings", "Plan"])
def test_answers_survive_turning_leaves(page: Page, leaf: str) -> None:
    start(page)
    ask(page, "history", "smoking").get_by_role("radio", name="yes").click()
    turn(page, leaf)
    settle(page)
    turn(page, "At the chair")
    expect(ask(page, "history", "smoking").locator('[aria-checked="true"]')).to_have_text("yes")
    expect(page.locator('[data-point="smoking"]')).to_be_visible()


def test_a_visit_started_on_an_old_revision_shows_what_is_new_and_writes_nothing_until_asked_again(page: Page) -> None:
    open_made(page, premolar(), "At the chair")
    note_elsewhere(page)
    page.get_by_label("who asks").fill("DN")
    page.get_by_role("button", name="Start the visit").click()
    expect(page.locator(".conflict")).to_contain_text("changed in another window")
    assert page.locator("[data-ask]").count() == 0
    page.get_by_role("button", name="Start the visit").click()
    expect(page.locator("[data-ask]").first).to_be_visible()
    expect(page.locator(".conflict")).to_have_count(0)
    turn(page, "Findings")
    expect(page.locator('[data-field="note"]')).to_have_value("elsewhere")


def test_doses_are_added_up_against_the_limit_in_force_and_an_own_limit_is_put_on_record(page: Page) -> None:
    open_made(page, premolar(), "At the chair")
    doses = page.locator(".doses")
    doses.get_by_text("how much in all").click()
    doses.get_by_label("weight").fill("20")
    doses.get_by_label("lidocaine with adrenaline, ml given").fill("3,4")
    doses.get_by_label("lidocaine with adrenaline, ml given").press("Tab")
    said = doses.locator("ul.sentences")
    # 3.4 ml of 20 mg/ml are 68 mg; 4.4 mg/kg allow 88 mg at 20 kg: 77 in 100, rounded up as the program does.
    expect(said).to_contain_text("78 in 100 of the limit of 88 mg")
    assert said.get_attribute("data-over") == "false"
    row = doses.locator("tr", has=page.locator('[data-agent="lidocaine"]'))
    row.get_by_text("your own limit").click()
    for name, typed in (("mg per kg", "3"), ("at most", "200"), ("from", "invented leaflet"), ("entered by", "DN")):
        row.get_by_label(name).fill(typed)
    row.get_by_role("button").click()
    expect(said).to_contain_text("more than the limits allow")
    expect(row).to_contain_text("invented leaflet, entered by DN")
