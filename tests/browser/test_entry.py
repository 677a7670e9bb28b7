"""What is typed into a case: the step of the readings, faults with a way out, files in and out, teeth and bridges."""

import json
import re
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import Workbench, cell, on_record, open_copy, open_made, premolar, settle, turn
from tests.making.case_documents import case_document

FAULTY = """format = "collum-case/2"
[patient]
reference = "K-1"
[[teeth]]
number = 45
role = "crowned"
[teeth.sites]
order = ["F", "L"]
probing_depth = [2, 99]
"""


def type_in(page: Page, kind: str, site: str, text: str) -> None:
    cell(page, kind, site).fill(text)
    cell(page, kind, site).press("Enter")


def new_case(page: Page, reference: str, number: str = "45") -> None:
    page.get_by_label("your code").fill(reference)
    page.get_by_label("tooth (ISO").fill(number)
    page.get_by_role("button", name="Open", exact=True).click()
    page.wait_for_selector('.readings[aria-busy="false"]')


def saved_tooth(page: Page, at: int = 0) -> dict[str, Any]:
    """Return a tooth of the open case as the server has it."""
    settle(page)
    return dict(on_record(page)["teeth"][at])


def test_a_new_case_starts_in_its_first_cell_with_half_millimetres(page: Page) -> None:
    new_case(page, "E-1")
    expect(cell(page, "probing_depth", "F")).to_be_focused()
    page.keyboard.type("3,5")
    page.keyboard.press("Enter")
    settle(page)
    page.reload()
    page.wait_for_selector("[data-cell]")
    type_in(page, "bone_sounding", "F", "4.5")
    tooth = saved_tooth(page)
    assert tooth["sites"] | {"order": []} == {
        "order": [],
        "step": 0.5,
        "probing_depth": {"F": 3.5},
        "bone_sounding": {"F": 4.5},
    }


def test_the_step_is_chosen_and_a_reading_between_its_marks_is_asked_once_more_and_keeps_its_own(page: Page) -> None:
    new_case(page, "E-2")
    type_in(page, "probing_depth", "F", "3.5")
    page.get_by_test_id("step").select_option("1")
    type_in(page, "probing_depth", "L", "2.5")
    expect(page.locator(".asked")).to_contain_text("lies between marks of 1 mm")
    cell(page, "probing_depth", "L").press("Enter")
    expect(page.locator(".asked")).to_have_count(0)
    sites = saved_tooth(page)["sites"]
    assert sites["step"] == 1
    assert sites["probing_depth"] == {"F": {"value": 3.5, "step": 0.5}, "L": {"value": 2.5, "step": 0.5}}


def test_a_pasted_row_fills_the_sites_tab_goes_on_and_repeats_far_apart_are_asked_about(page: Page) -> None:
    document = premolar()
    del document["teeth"][0]["sites"]
    open_made(page, document, "Findings")
    page.get_by_role("button", name="Read it at six sites").click()
    page.get_by_role("button", name="+ M", exact=True).click()
    page.wait_for_selector('.readings[aria-busy="false"]')
    paste = """(cell, text) => {
        const clipboardData = new DataTransfer();
        clipboardData.setData("text", text);
        cell.dispatchEvent(new ClipboardEvent("paste", { clipboardData, bubbles: true, cancelable: true }));
    }"""
    cell(page, "probing_depth", "L").evaluate(paste, "2\t2,5\t3\t7\t2\t3\t2,5\n")
    expect(page.locator(".asked")).to_have_text("probing depth at ML: 7.0 mm is unusual. Press Enter once more to keep it.")
    cell(page, "probing_depth", "ML").press("Enter")
    cell(page, "bone_sounding", "F").evaluate(paste, "4, 4, 4, 7.5, 4, 4, 4.5")
    cell(page, "bone_sounding", "DL").evaluate(paste, "4\t4\t4")
    expect(page.locator(".asked")).to_have_text("3 readings were pasted; 2 sites are left from here.")
    cell(page, "crown_height", "F").focus()
    for text in ("5", "5.5 7.5"):
        page.keyboard.type(text)
        page.keyboard.press("Tab")
    expect(page.locator(".asked").last).to_contain_text("crown height at MF: the repeats lie 2.0 mm apart.")
    expect(cell(page, "crown_height", "MF")).to_be_focused()
    page.keyboard.press("Enter")
    sites = saved_tooth(page)["sites"]
    order = ["F", "MF", "M", "ML", "L", "DL", "DF"]
    assert sites == {
        "order": order,
        "step": 0.5,
        "probing_depth": dict(zip(order, (2, 2.5, 3, 7, 2, 3, 2.5), strict=True)),
        "bone_sounding": dict.fromkeys(order, 4) | {"ML": 7.5, "DF": 4.5},
        "crown_height": {"F": 5, "MF": [5.5, 7.5]},
    }
    page.keyboard.press("Control+z")
    page.keyboard.press("Control+z")
    page.keyboard.press("Control+z")
    assert "bone_sounding" not in saved_tooth(page)["sites"]  # a row is one step to undo


def test_what_no_case_file_takes_is_not_offered_to_be_kept(page: Page) -> None:
    new_case(page, "E-3")
    type_in(page, "crown_height", "F", "35")
    cell(page, "crown_height", "F").press("Enter")
    expect(page.locator(".asked")).to_have_text("crown height at F: 35.0 mm is not taken; from \u221212.0 to 15.0 mm.")
    assert "crown_height" not in saved_tooth(page)["sites"]


def test_a_fault_names_its_cell_stays_unsaved_over_a_reload_and_is_undone(page: Page) -> None:
    new_case(page, "E-4")
    type_in(page, "probing_depth", "F", "3")
    settle(page)
    type_in(page, "bone_sounding", "F", "2")
    expect(page.locator(".saving")).to_have_attribute("data-state", "faulty")
    expect(page.locator(".faults")).to_contain_text("bone sounding at F: is shorter")
    page.reload()
    expect(page.locator(".faults")).to_contain_text("bone sounding at F: is shorter")
    expect(page.locator(".saving")).to_have_attribute("data-state", "faulty")
    turn(page, "Plan")
    page.get_by_role("button", name="Go there").click()
    expect(cell(page, "bone_sounding", "F")).to_be_focused()
    page.keyboard.press("Control+z")
    settle(page)
    assert page.locator(".faults").count() == 0


def test_a_server_that_is_away_is_named_and_what_was_typed_is_saved_when_it_is_back(page: Page) -> None:
    new_case(page, "E-5")
    settle(page)
    page.route("**/api/v1/**", lambda route: route.abort("connectionrefused"))
    type_in(page, "probing_depth", "F", "3")
    expect(page.locator(".unreached")).to_contain_text("The server does not answer")
    expect(page.locator("main.case")).to_have_attribute("data-waiting", "true")
    assert "TypeError" not in page.content()
    page.unroute("**/api/v1/**")
    expect(page.locator(".unreached")).to_have_count(0)
    assert saved_tooth(page)["sites"]["probing_depth"] == {"F": 3}


def test_what_was_not_stated_is_shown_as_taken_and_never_written(page: Page) -> None:
    new_case(page, "E-6")
    page.locator('[data-field="restoration.occlusal_reduction_mm"]').fill("1.5")
    page.locator('[data-field="restoration.occlusal_reduction_mm"]').press("Enter")
    tooth = saved_tooth(page)
    assert {"role", "state", "contact"}.isdisjoint(tooth)
    assert tooth["restoration"] == {"occlusal_reduction_mm": 1.5}
    page.reload()
    for path, taken in (("role", "to be crowned"), ("contact.mesial", "tooth"), ("restoration.kind", "full crown")):
        field = page.locator(".field", has=page.locator(f'[data-field="{path}"]'))
        expect(field.locator("select")).to_have_value("")
        expect(field).to_contain_text(f"taken as {taken}")
    expect(page.locator(".brief ul.sentences")).to_contain_text("is not entered: the verdict is provisional")


def test_a_second_case_of_a_code_and_tooth_is_asked_about_and_the_code_stands_on_the_case(page: Page) -> None:
    new_case(page, "E-7")
    expect(page.locator(".bar .reference")).to_have_text("E-7")
    page.get_by_role("link", name="Collum").click()
    page.get_by_label("your code").fill("E-7")
    page.get_by_label("tooth (ISO").fill("29 universal")
    page.get_by_role("button", name="Open", exact=True).click()
    expect(page.locator(".second")).to_contain_text("There is a case E-7 with tooth 45 already")
    assert page.locator(".list li", has_text="E-7").count() == 1
    page.get_by_role("button", name="Make a second one all the same").click()
    page.wait_for_selector("[data-cell]")


def test_a_file_with_faults_is_told_in_the_words_of_a_dentist_and_nothing_is_written(page: Page, tmp_path: Path) -> None:
    before = page.locator(".list li").count()
    file = tmp_path / "case.toml"
    file.write_text(FAULTY, encoding="utf-8")
    page.get_by_test_id("case-file").set_input_files(file)
    told = page.locator(".new .faults")
    expect(told).to_have_count(2)
    expect(told.nth(0)).to_have_text(
        "tooth 45, the tooth is: is none of the answers this program knows (crowned); one of: crown, abutment, neighbour."
    )
    expect(told.nth(1)).to_have_text("tooth 45, probing depth at L: lies outside its range (99); a number from 0 to 15 mm.")
    page.reload()
    page.wait_for_selector(".list a")
    assert page.locator(".list li").count() == before


def test_a_case_file_goes_in_and_comes_out_the_same(page: Page, tmp_path: Path) -> None:
    document = case_document()
    document["patient"]["reference"] = "E-8"
    file = tmp_path / "case.json"
    file.write_text(json.dumps(document), encoding="utf-8")
    page.get_by_test_id("case-file").set_input_files(file)
    page.wait_for_selector("[data-cell]")
    tooth = saved_tooth(page)
    turn(page, "Record")
    with page.expect_download() as download:
        page.get_by_role("button", name="Save as a case file").click()
    assert download.value.suggested_filename == "E-8-1.json"
    kept = tmp_path / "kept.json"
    download.value.save_as(kept)
    assert json.loads(kept.read_text(encoding="utf-8"))["teeth"][0] == tooth


def test_a_neighbour_is_added_read_kept_from_removal_and_taken_out_again(page: Page) -> None:
    open_made(page, premolar(), "Findings")
    page.get_by_label("another tooth").fill("45")
    page.get_by_role("button", name="Add", exact=True).click()
    expect(page.locator(".teeth-of-case .asked")).to_contain_text("in this case already")
    page.get_by_label("another tooth").fill("30 universal")
    page.get_by_role("button", name="Add", exact=True).click()
    expect(page.locator(".bar h1")).to_have_text("46")
    type_in(page, "bone_sounding", "F", "3.5")
    settle(page)
    neighbour = saved_tooth(page, 1)
    assert (neighbour["number"], neighbour["role"], neighbour["sites"]["bone_sounding"]) == (46, "neighbour", {"F": 3.5})
    take_out = page.get_by_role("button", name="Remove 46 from this case")
    expect(take_out).to_be_disabled()
    type_in(page, "bone_sounding", "F", "")
    take_out.click()
    settle(page)
    expect(page.locator(".bar h1")).to_contain_text("45")
    page.keyboard.press("Control+z")
    settle(page)
    assert saved_tooth(page, 1)["number"] == 46
    turn(page, "Plan")
    expect(page.locator("[data-testid=verdict]")).to_be_visible()


def test_a_bridge_over_the_teeth_is_entered_by_its_units(page: Page) -> None:
    open_made(page, premolar(), "Findings")
    units = page.locator('[data-units="0 teeth"]')
    units.fill("45, 99")
    units.press("Enter")
    expect(page.locator(".teeth-of-case .asked")).to_contain_text("not every one")
    units.fill("45, 46, 47")
    units.press("Enter")
    page.locator('[data-units="0 pontics"]').fill("46")
    page.locator('[data-units="0 pontics"]').press("Enter")
    settle(page)
    expect(page.locator(".bar nav").get_by_role("link", name="Bridge")).to_be_visible()
    units.fill("")
    units.press("Enter")
    expect(page.locator(".bar nav").get_by_role("link", name="Bridge")).to_have_count(0)
    settle(page)


def test_a_moved_handle_keeps_its_route_and_its_numbers_stand_beside_no_verdict(page: Page) -> None:
    open_copy(page, "AQ-12")
    route = page.locator('.board [data-route="soft tissue only"]')
    route.locator("input").check()
    handle = page.locator('[data-handle="cut F"]')
    handle.focus()
    for _ in range(6):
        handle.press("PageDown")
    expect(page.locator(".requirements h2").first).to_contain_text("for the line you are moving")
    expect(page.get_by_test_id("verdict")).to_have_text("…")
    assert set(page.locator(".requirements .how").all_inner_texts()) == {"…"}
    expect(handle).to_have_class(re.compile(r"\bheld\b"))
    settle(page)
    expect(route.locator("input")).to_be_checked()
    expect(handle).to_be_focused()
    handle.press("ArrowDown")
    handle.press("Delete")
    page.wait_for_timeout(900)  # longer than a key takes to be held
    settle(page)
    expect(handle).not_to_have_class(re.compile(r"\bheld\b"))
    assert "held" not in saved_tooth(page)


def test_what_was_not_read_is_marked_as_estimated_on_strip_table_and_slice(page: Page) -> None:
    document = premolar()
    document["teeth"][0]["sites"]["bone_sounding"] = {"F": 4.0, "DL": "not measurable"}
    open_made(page, document)
    assert page.locator('[data-read^="crest "]').count() == 1
    assert page.locator('[data-read="crest F"]').count() == 1
    page.locator(".strip summary").click()
    row = page.locator(".strip .twin tr", has=page.locator("th", has_text=re.compile(r"^crest$")))
    cells = row.locator("td").all_inner_texts()
    assert [text.startswith("\u2248") for text in cells] == [False, True, True, True, True, True]
    page.locator('[data-handle="finish DL"], [data-handle="cut DL"]').first.focus()
    expect(page.locator(".slice")).to_contain_text("Bone was not sounded at DL")
    expect(page.locator(".slice text", has_text="bone \u2248")).to_contain_text("not sounded")


def test_a_fresh_link_pasted_into_a_locked_tab_opens_it(page: Page, workbench: Workbench) -> None:
    page.evaluate("sessionStorage.clear()")
    page.goto(workbench.origin + "/")
    page.reload()
    expect(page.get_by_role("heading")).to_contain_text("needs a link")
    page.evaluate("hash => { location.hash = hash }", workbench.link().split("/")[-1])
    expect(page.locator(".list a").first).to_be_visible()


@pytest.mark.parametrize("leaf", ["Findings", "Plan"])
def test_nothing_is_struck_through_where_there_is_a_fault(page: Page, leaf: str) -> None:
    open_made(page, premolar(), "Findings")
    type_in(page, "bone_sounding", "F", "0.5")
    cell(page, "bone_sounding", "F").press("Enter")
    expect(page.locator(".faults")).to_be_visible()
    turn(page, leaf)
    drawn = page.locator(".verdict").evaluate_all("all => all.map((one) => getComputedStyle(one).textDecorationLine)")
    assert drawn and "line-through" not in drawn
