"""The safety screening at the chair: answered by keyboard or touch, closed until cleared, never by a default."""

import re
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from collum.case import to_document
from collum.evidence.safety_rules import OF_PLAN, RULES, rules_of
from tests.browser.conftest import cell, note_elsewhere, open_made, premolar, settle, turn, violations
from tests.making.teeth import case_of, overgrown_premolar

PACE_MS = 70  # between two keys: quicker than a hand, slower than the limit of requests


def overgrown() -> dict[str, Any]:
    """A tooth for which soft tissue alone is open; `premolar` is one for which flap with bone is."""
    return to_document(case_of(overgrown_premolar()))


def start(page: Page, document: dict[str, Any] | None = None) -> None:
    open_made(page, document or overgrown(), "At the chair")
    expect(page.get_by_test_id("gate")).to_have_text("the card is closed")
    page.get_by_label("who asks").fill("DN")
    page.get_by_role("button", name="Start the visit").click()
    expect(page.locator("[data-ask]")).to_have_count(len(RULES))


def harmless(rule_id: str) -> str:
    """Return the key of the answer that closes nothing."""
    rule = next(rule for rule in RULES if rule.id == rule_id)
    return "n" if rule.on == "yes" else "y"


def answer_all(page: Page, **others: str) -> None:
    """Answer every question by one key each, from the first on; `others` are answered otherwise."""
    page.locator('[data-ask] [tabindex="0"]').first.focus()
    for rule in page.eval_on_selector_all("[data-ask]", "all => all.map(e => e.dataset.ask)"):
        page.keyboard.press(others.get(rule, harmless(rule)))
        page.wait_for_timeout(PACE_MS)
    for role, code in (("operator", "DN"), ("suction", "AB"), ("plate", "AB")):
        say_role(page, role, code)
    page.wait_for_selector('.gate[data-current="true"]')
    settle(page)


def say_role(page: Page, role: str, code: str) -> None:
    page.locator(f'[data-role="{role}"]').fill(code)
    page.locator(f'[data-role="{role}"]').press("Tab")


def answers(page: Page) -> int:
    return page.locator('[data-ask] [aria-checked="true"]').count()


def test_nothing_is_answered_beforehand_and_no_question_is_shown_before_a_visit(page: Page) -> None:
    open_made(page, premolar(), "At the chair")
    expect(page.locator(".asked-list")).to_contain_text("Start the visit first")
    assert page.locator("[data-ask]").count() == 0
    expect(page.locator(".alternative")).to_contain_text("scalpel")
    page.get_by_label("who asks").fill("DN")
    page.get_by_role("button", name="Start the visit").click()
    expect(page.locator("[data-ask]").first).to_be_visible()
    assert answers(page) == 0
    expect(page.get_by_role("button", name="Open and print the card")).to_be_disabled()


def test_all_is_answered_by_one_key_each_and_the_card_opens(page: Page, tmp_path: Path) -> None:
    start(page)
    answer_all(page)
    assert answers(page) == len(RULES)
    expect(page.get_by_test_id("gate")).to_have_text("the card may be opened")
    assert page.locator(".alternative").count() == 0
    for name, file in (("Open and print the card", "chairside-card.pdf"), ("Print the answers", "safety-checklist.pdf")):
        with page.expect_download() as download:
            page.get_by_role("button", name=name).click()
        assert download.value.suggested_filename == f"T-001-{file}"
        download.value.save_as(tmp_path / file)
        assert (tmp_path / file).read_bytes().startswith(b"%PDF")
    # An answer taken back closes the card again.
    page.locator('[data-ask="cochlear_implant"] [aria-checked="true"]').click()
    expect(page.get_by_test_id("gate")).to_have_text("the card is closed")
    expect(page.locator(".left")).to_contain_text("1 question left")


def test_a_stop_has_no_way_round_and_what_may_be_answered_for_asks_for_name_and_reason(page: Page) -> None:
    start(page)
    answer_all(page, cardiac_device="y", masks="n")
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
    expect(page.get_by_role("button", name="Open and print the card")).to_be_disabled()
    page.locator('[data-ask="cardiac_device"]').get_by_role("radio", name="no", exact=True).click()
    expect(page.get_by_test_id("gate")).to_have_text("the card may be opened")


def test_not_known_counts_as_the_answer_that_closes_and_offers_the_letter(page: Page, tmp_path: Path) -> None:
    start(page)
    ask = page.locator('[data-ask="bleeding_disorder"]')
    ask.get_by_role("radio", name="not known").click()
    expect(ask).to_have_class(re.compile(r"\bcloses\b"))
    expect(ask.locator(".told")).to_contain_text("physician")
    settle(page)
    with page.expect_download() as download:
        page.get_by_role("button", name="letter to the physician").click()
    download.value.save_as(tmp_path / "letter.pdf")
    assert (tmp_path / "letter.pdf").read_bytes().startswith(b"%PDF")


def test_an_implanted_device_stops_and_its_letter_prints_all_the_same(page: Page, tmp_path: Path) -> None:
    start(page)
    page.locator('[data-ask="cochlear_implant"]').get_by_role("radio", name="yes").click()
    expect(page.locator('[data-point="cochlear_implant"]')).to_contain_text("Stop")
    settle(page)
    with page.expect_download() as download:
        page.get_by_role("button", name="letter to the physician").click()
    download.value.save_as(tmp_path / "letter.pdf")
    assert (tmp_path / "letter.pdf").read_bytes().startswith(b"%PDF")


def test_without_a_plate_one_answer_does_for_the_plate_as_a_whole(page: Page) -> None:
    start(page)
    answer_all(page, plate_place="n")
    expect(page.get_by_test_id("gate")).to_have_text("the card is closed")
    page.locator('[data-ask="plate_contact"]').get_by_role("radio", name="does not apply").click()
    for part in ("plate_place", "plate_skin", "plate_watched"):
        expect(page.locator(f'[data-ask="{part}"]')).to_have_count(0)
    expect(page.get_by_test_id("gate")).to_have_text("the card may be opened")
    page.locator('[data-ask="plate_contact"]').get_by_role("radio", name="done", exact=True).click()
    expect(page.get_by_test_id("gate")).to_have_text("the card is closed")
    expect(page.locator(".left")).to_contain_text("3 questions left to answer")
    assert page.locator('[data-ask="plate_place"]').get_by_role("radio", name="does not apply").count() == 0


def test_a_sheet_of_surgery_is_asked_what_concerns_it_and_opened_here_too(page: Page, tmp_path: Path) -> None:
    start(page, premolar())
    answer_all(page)
    expect(page.get_by_test_id("gate")).to_have_text("the card is closed")
    expect(page.locator(".gate")).to_contain_text("Soft tissue only is short")
    page.locator('[data-ask="cardiac_device"]').get_by_role("radio", name="yes").click()
    page.get_by_label("flap and bone").check()
    expect(page.locator("[data-ask]")).to_have_count(sum("bone" in rule.outcomes for rule in RULES))
    expect(page.get_by_test_id("gate")).to_have_text("the sheet may be opened")
    with page.expect_download() as download:
        page.get_by_role("button", name="Open and print the sheet").click()
    assert download.value.suggested_filename == "T-001-flap-sheet.pdf"
    page.locator('[data-ask="jaw_irradiated"]').get_by_role("radio", name="yes").click()
    expect(page.get_by_test_id("gate")).to_have_text("the sheet is closed")
    expect(page.get_by_role("button", name="Open and print the sheet")).to_be_disabled()
    assert violations(page) == []


def test_a_recorded_stop_or_drug_is_corrected_by_name_and_not_answered_away(page: Page) -> None:
    document = overgrown()
    document["patient"]["stops"] = ["pacemaker"]
    document["patient"]["drugs"] = ["warfarin", "paracetamol"]
    start(page, document)
    answer_all(page)
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
    was = probing.input_value()
    probing.fill("2")
    probing.press("Tab")
    settle(page)
    turn(page, "At the chair")
    expect(page.get_by_test_id("gate")).to_have_text("the card is closed")
    expect(page.locator(".gate")).to_contain_text("11 of them were answered for another plan and are asked again")
    expect(page.locator(".left")).to_contain_text(f"{len(OF_PLAN)} questions left to answer")
    assert answers(page) == len(RULES) - len(OF_PLAN)
    ask = page.locator('[data-ask="thin_over_bone"]')
    expect(ask).to_have_class(re.compile(r"\bopen\b"))
    expect(ask.locator(".told")).to_contain_text("Asked again. Answered for another plan")
    expect(ask.locator(".told")).to_contain_text("Before: no.")
    assert violations(page) == []
    # By the keys alone, from one open question to the next.
    while page.locator("[data-ask].open").count():
        page.get_by_role("button", name="Go to the next").click()
        page.keyboard.press(harmless(page.evaluate("document.activeElement.closest('[data-ask]').dataset.ask")))
        page.wait_for_timeout(PACE_MS)
    settle(page)
    expect(page.get_by_test_id("gate")).to_have_text("the card may be opened")
    assert ask.locator(".told").count() == 0
    turn(page, "Findings")
    probing.fill(was)
    probing.press("Tab")
    settle(page)
    turn(page, "At the chair")
    expect(page.locator(".left")).to_contain_text(f"{len(OF_PLAN)} questions left to answer")


def test_who_does_what_is_among_what_is_left_and_the_operator_is_not_to_do_it_all(page: Page) -> None:
    start(page)
    first = page.locator("[data-ask]").first
    expect(first.locator('[tabindex="0"]')).to_be_focused()  # the first question waits for its key
    answer_all(page)
    for role in ("operator", "suction", "plate"):
        say_role(page, role, "")
    expect(page.locator(".left")).to_contain_text("1 question left to answer")
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


def test_the_keys_work_at_once_on_a_visit_that_runs_and_the_counter_follows_each(page: Page) -> None:
    start(page)
    left = len(RULES) + 1  # the questions, and who does what
    page.route("**/api/v1/safety", lambda route: route.abort("connectionrefused"))
    page.keyboard.press("u")
    expect(page.locator(".left")).to_contain_text(f"{left - 1} questions left to answer")  # before the server has said anything
    page.unroute("**/api/v1/safety")
    turn(page, "Plan")
    turn(page, "At the chair")
    expect(page.locator("[data-ask].open").first.locator('[tabindex="0"]')).to_be_focused()
    page.keyboard.press("u")
    page.keyboard.press("u")
    expect(page.locator(".left")).to_contain_text(f"{left - 3} questions left to answer")
    assert answers(page) == 3


def test_arrows_move_backspace_takes_back_and_undo_undoes(page: Page) -> None:
    start(page)
    first, second = (rule.id for rule in rules_of("patient")[:2])
    page.locator(f'[data-ask="{first}"] [tabindex="0"]').focus()
    page.keyboard.press("ArrowDown")
    expect(page.locator(f'[data-ask="{second}"] [tabindex="0"]')).to_be_focused()
    page.keyboard.press("ArrowUp")
    page.keyboard.press("u")
    assert answers(page) == 1
    page.keyboard.press("ArrowUp")
    page.keyboard.press("Backspace")
    assert answers(page) == 0
    page.keyboard.press("x")  # no answer of this question
    assert answers(page) == 0
    page.keyboard.press("Control+z")
    assert answers(page) == 1


@pytest.mark.parametrize("leaf", ["Findings", "Plan"])
def test_answers_survive_turning_leaves(page: Page, leaf: str) -> None:
    start(page)
    page.locator('[data-ask="smoking"]').get_by_role("radio", name="yes").click()
    turn(page, leaf)
    settle(page)
    turn(page, "At the chair")
    expect(page.locator('[data-ask="smoking"] [aria-checked="true"]')).to_have_text("yes")
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
