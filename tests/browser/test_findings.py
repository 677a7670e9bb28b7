"""What decides is asked on the leaf of the findings, answered there, and answered at once."""

from typing import Any

import pytest
from playwright.sync_api import Page, expect

from collum.case import to_document
from tests.browser.conftest import cell, on_record, open_made, premolar, settle, turn, verdict, violations
from tests.browser.test_look import labels_in_disorder
from tests.making.teeth import case_of, overgrown_premolar

KEYED = (
    "state",
    "patient.phenotype",
    "vital",
    "sound_measured",
    "core.present",
    "root.length_mm",
    "contact.mesial",
    "proximal_crest_from_film_mm.distal",
    "contact_point_mm.mesial",
    "ankylosis",
    "anchorage",
    "restoration.visible_zone",
    "restoration.finish.position",
    "interocclusal_space_mm",
)


def field(page: Page, path: str) -> Any:
    return page.locator(f'.groups [data-field="{path}"]')


def overgrown(**changes: Any) -> dict[str, Any]:
    """An overgrown premolar whose deep distal site has no reading of the cemento-enamel junction."""
    document = to_document(case_of(overgrown_premolar()))
    del document["teeth"][0]["sites"]["cej_height"]["DL"]
    document["teeth"][0].update(changes)
    return document


def saved(page: Page) -> dict[str, Any]:
    """Return the first tooth as the server has it, with the patient beside it."""
    settle(page)
    document = on_record(page)
    return dict(document["teeth"][0]) | {"patient": document["patient"]}


def test_every_finding_that_decides_has_its_field(page: Page) -> None:
    open_made(page, premolar(), "Findings")
    expect(field(page, "state")).to_be_visible()
    assert [path for path in KEYED if field(page, path).count() != 1] == []


def test_findings_are_typed_with_enter_alone_and_a_comma_is_a_point(page: Page) -> None:
    open_made(page, premolar(), "Findings")
    length = field(page, "root.length_mm")
    length.fill("13,5")
    length.press("Enter")
    expect(length).not_to_be_focused()
    field(page, "mobility.grade").select_option("2")
    field(page, "anchorage").select_option("none")
    field(page, "vital").select_option("false")
    tooth = saved(page)
    assert tooth["root"]["length_mm"] == 13.5
    assert tooth["mobility"] == {"grade": 2, "scale": "Miller"}
    assert (tooth["anchorage"], tooth["vital"]) == ("none", False)
    assert verdict(page, "extrusion first") == "closed"
    field(page, "mobility.grade").select_option("")
    assert "mobility" not in saved(page)


def test_what_is_no_number_is_refused_in_the_field(page: Page) -> None:
    open_made(page, premolar(), "Findings")
    length = field(page, "root.length_mm")
    length.fill("long")
    length.press("Tab")
    assert length.evaluate("e => e.validationMessage") != ""
    assert page.get_by_role("button", name="Undo").is_disabled()


def test_a_cause_is_asked_only_of_overgrown_tissue_and_goes_with_it(page: Page) -> None:
    open_made(page, overgrown(), "Findings")
    assert field(page, "overgrowth.cause").input_value() == "drug"
    assert field(page, "overgrowth.controlled_since").input_value() == "2026-03-01"
    field(page, "state").select_option("healthy")
    assert field(page, "overgrowth.cause").count() == 0
    assert "overgrowth" not in saved(page)


@pytest.mark.parametrize(
    ("junction", "told"), [("-3.5", None), ("-1.0", "periodontal treatment")], ids=["a false pocket", "a true pocket"]
)
def test_a_false_or_a_true_pocket_is_asked_with_its_consequence_and_answered_in_place(
    page: Page, junction: str, told: str | None
) -> None:
    open_made(page, overgrown(), "Findings")
    question = page.locator('[data-question="cej_at"]')
    expect(question).to_contain_text("false or true pocket")
    expect(question.locator("dl")).to_contain_text("3.0 mm")
    answer = question.get_by_label("CEJ from the margin at DL")
    answer.fill(junction)
    answer.press("Enter")
    expect(question).to_have_count(0)
    settle(page)
    assert cell(page, "cej_height", "DL").input_value() == junction.replace("-", "−")
    doubts = page.locator(".brief ul.sentences")
    if told is None:
        assert doubts.count() == 0 or "periodontal" not in doubts.inner_text()
    else:
        expect(doubts).to_contain_text(told)


def test_a_question_about_a_reading_leads_to_it(page: Page) -> None:
    document = premolar()
    document["teeth"][0]["sites"]["bone_sounding"]["F"] = 9.0
    open_made(page, document, "Findings")
    page.locator('.questions [data-question="bone_sounding"]').first.get_by_role("button").click()
    expect(cell(page, "bone_sounding", "F")).to_be_focused()


def test_marks_of_a_site_and_its_own_state_are_kept(page: Page) -> None:
    open_made(page, premolar(), "Findings")
    page.get_by_label("ledge of bone at DL").check()
    page.get_by_label("metal at F", exact=True).check()
    page.get_by_label("state of the tissue at DF").select_option("inflamed")
    tooth = saved(page)
    assert (tooth["bony_ledge"], tooth["metal"], tooth["site_state"]) == ({"DL": True}, {"F": True}, {"DF": "inflamed"})
    page.get_by_label("ledge of bone at DL").uncheck()
    assert "bony_ledge" not in saved(page)


def test_what_was_told_and_the_depth_of_a_fracture_are_kept(page: Page) -> None:
    open_made(page, premolar(), "Findings")
    drugs = field(page, "patient.drugs")
    drugs.fill("phenytoin, aspirin")
    drugs.press("Enter")
    note = field(page, "note")
    note.fill("<b>seen</b> again")
    note.press("Tab")
    depth = cell(page, "fracture_depth_mm", "DL")
    depth.fill("1.5 2.0")
    depth.press("Enter")
    expect(page.locator(".asked")).to_contain_text("not a reading")
    depth.fill("1.5")
    depth.press("Enter")
    tooth = saved(page)
    assert tooth["patient"]["drugs"] == ["phenytoin", "aspirin"]
    assert (tooth["note"], tooth["fracture_depth_mm"]) == ("<b>seen</b> again", {"DL": 1.5})


def dropped(page: Page, entry: str) -> Any:
    return page.locator(f'[data-dropped="{entry}"]')


def take_out(page: Page, entry: str) -> None:
    form = dropped(page, entry)
    form.get_by_label("name").fill("D. Nurse")
    form.get_by_label("why").fill("mistyped")
    form.get_by_role("button", name=f"Remove {entry} from the record").click()
    expect(form).to_have_count(0)


def test_a_mistyped_drug_is_taken_out_by_name_and_nothing_else_typed_is_lost(page: Page) -> None:
    open_made(page, premolar(), "Findings")
    drugs = field(page, "patient.drugs")
    for typed in ("warf", "ibuprofen", "warfarin, ibuprofen, aspirin"):
        drugs.fill(typed)
        drugs.press("Tab")
        assert saved(page)["patient"]["drugs"] == typed.split(", ")
    drugs.fill("paracetamol, aspirin")
    drugs.press("Tab")
    assert saved(page)["patient"]["drugs"] == ["paracetamol", "aspirin"], "aspirin still answers"
    drugs.fill("paracetamol")
    field(page, "note").fill("seen again")
    field(page, "note").press("Tab")
    expect(dropped(page, "aspirin")).to_contain_text("remove it with your name and the reason")
    tooth = saved(page)
    assert (tooth["patient"]["drugs"], tooth["note"]) == (["paracetamol", "aspirin"], "seen again")
    assert violations(page) == []
    dropped(page, "aspirin").get_by_role("button", name="Leave it in").click()
    expect(dropped(page, "aspirin")).to_have_count(0)
    drugs.fill("")
    drugs.press("Tab")
    take_out(page, "aspirin")
    assert "drugs" not in saved(page)["patient"]
    expect(drugs).to_have_value("")


def test_undoing_on_another_leaf_asks_for_the_name_there(page: Page) -> None:
    open_made(page, premolar(), "Findings")
    drugs = field(page, "patient.drugs")
    drugs.fill("alendronate")
    drugs.press("Tab")
    settle(page)
    turn(page, "Plan")
    page.get_by_role("button", name="Undo").click()
    expect(dropped(page, "alendronate")).to_be_visible()
    assert violations(page) == []
    take_out(page, "alendronate")
    assert "drugs" not in saved(page)["patient"]


def test_what_is_recorded_as_a_stop_is_added_to_here_and_taken_out_or_put_down_as_a_question_by_name(page: Page) -> None:
    open_made(page, premolar(), "Findings")
    stops = field(page, "patient.stops")
    for typed, kept in (
        ("pacemaker", ["pacemaker"]),
        ("pacemaker, pump", ["pacemaker", "pump"]),
        ("pump", ["pacemaker", "pump"]),
    ):
        stops.fill(typed)
        stops.press("Tab")
        assert saved(page)["patient"]["stops"] == kept
    expect(dropped(page, "pacemaker")).to_be_visible()
    dropped(page, "pacemaker").get_by_role("combobox").select_option("cardiac_device")
    dropped(page, "pacemaker").get_by_label("name").fill("D. Nurse")
    dropped(page, "pacemaker").get_by_label("why").fill("it is one")
    dropped(page, "pacemaker").get_by_role("button", name="Enter").click()
    expect(dropped(page, "pacemaker")).to_have_count(0)
    patient = saved(page)["patient"]
    assert (patient["stops"], patient["history"]) == (["pump"], {"cardiac_device": {}})


def test_a_fact_of_the_patient_is_added_stated_answered_and_taken_out_by_name(page: Page) -> None:
    open_made(page, premolar(), "Findings")
    history = page.get_by_role("region", name="Medical history")
    field(page, "patient.history").select_option("bone_drugs")
    expect(field(page, "patient.history.bone_drugs.which")).to_be_focused()
    field(page, "patient.history.bone_drugs.which").select_option("yearly drip")
    years = field(page, "patient.history.bone_drugs.years")
    years.fill("2,5")
    years.press("Enter")
    assert saved(page)["patient"]["history"] == {"bone_drugs": {"which": "yearly drip", "years": 2.5}}
    brief = page.locator('.brief [data-route="soft tissue and bone"]')
    expect(brief).to_have_attribute("data-verdict", "closed")
    expect(page.locator(".reasons li.first").first).to_contain_text("Bone drug")
    history.get_by_text("Answer of the physician or clinic").click()
    history.get_by_label("physician or clinic", exact=True).fill("Dr Quay")
    history.get_by_label("date of the answer").fill("2026-04-30")
    history.get_by_label("agrees").select_option("yes")
    history.get_by_role("button", name="Enter").click()
    expect(history.get_by_text("Dr Quay agreed on 2026-04-30.")).to_be_visible()
    expect(brief).not_to_have_attribute("data-verdict", "closed")
    assert violations(page) == []
    settle(page)
    history.get_by_role("button", name="Remove or correct by name").click()
    history.get_by_label("name").fill("D. Nurse")
    history.get_by_label("why").fill("another patient")
    history.get_by_role("button", name="Enter").click()
    expect(history.locator("[data-fact]")).to_have_count(0)
    assert "history" not in saved(page)["patient"]


def test_a_drug_nobody_has_classified_closes_until_somebody_says_what_it_is(page: Page) -> None:
    open_made(page, premolar(), "Findings")
    drugs = field(page, "patient.drugs")
    drugs.fill("lisinopril")
    drugs.press("Tab")
    asked = page.locator('[data-unclassified="lisinopril"]')
    expect(asked).to_be_visible()
    asked.get_by_role("combobox").select_option("no concern")
    asked.get_by_label("name").fill("D. Nurse")
    asked.get_by_role("button", name="Enter").click()
    expect(asked).to_have_count(0)
    (read,) = saved(page)["patient"]["classified"]
    assert (read["entry"], read["as_fact"], read["by"]) == ("lisinopril", "no concern", "D. Nurse")


def test_a_furcation_is_graded_by_side_where_the_root_divides(page: Page) -> None:
    open_made(page, premolar(), "Findings")
    assert page.get_by_label("furcation facial").count() == 0
    molar = premolar(number=46)
    open_made(page, molar, "Findings")
    page.get_by_label("furcation facial").select_option("3")
    assert saved(page)["furcation"] == [{"grade": 3, "scale": "Glickman", "side": "facial"}]


def test_the_sides_that_show_are_asked_where_it_shows(page: Page) -> None:
    open_made(page, premolar(), "Findings")
    assert page.get_by_label("facial", exact=True).count() == 0
    field(page, "restoration.visible_zone").select_option("true")
    page.get_by_label("facial", exact=True).check()
    for path, typed in (("mirror_margin_mm", "0.5"), ("mirror_above_cej_mm", "1.5")):
        field(page, path).fill(typed)
        field(page, path).press("Enter")
    field(page, "mirror_healthy").select_option("true")
    tooth = saved(page)
    assert (tooth["visible_aspects"], tooth["mirror_margin_mm"]) == (["facial"], 0.5)
    turn(page, "Plan")
    page.locator('.board [data-route="soft tissue and bone"] input').check()
    expect(page.locator('[data-requirement="visible_zone"] .value')).to_contain_text("≤")
    expect(page.locator('.board [data-route="soft tissue and bone"] .looks')).to_contain_text("will look")
    expect(page.locator("[data-wished]")).to_have_count(1)


def test_bone_that_was_not_sounded_is_an_estimate_and_a_sounding_is_asked_for(page: Page) -> None:
    document = overgrown()
    document["teeth"][0]["sites"]["bone_sounding"]["DL"] = "not measurable"
    open_made(page, document, "Findings")
    question = page.locator('.questions [data-question="sounding_at"]')
    expect(question).to_contain_text("at DL")
    question.get_by_role("button").click()
    expect(cell(page, "bone_sounding", "DL")).to_be_focused()
    turn(page, "Plan")
    settle(page)
    expect(page.locator(".strip .unsounded")).to_contain_text("A cut is planned at DL, where bone was not sounded")
    page.get_by_text("As a table").click()
    crest = page.locator(".twin tbody tr", has=page.get_by_role("rowheader", name="crest", exact=True)).locator("td")
    told = dict(zip(page.locator(".twin thead th").all_inner_texts()[1:], crest.all_inner_texts(), strict=True))
    assert [site for site, height in told.items() if height.startswith("≈")] == ["DL"]
    # The zero of the papers: the deepest crest, at a site or between two.
    assert 0 <= min(float(height.removeprefix("≈")) for height in told.values()) < 0.5


def test_a_crest_that_was_read_nowhere_says_so(page: Page) -> None:
    document = overgrown()
    del document["teeth"][0]["sites"]["bone_sounding"]
    open_made(page, document, "Plan")
    assert "crest (not read)" in page.locator(".strip .end").all_text_contents()
    expect(page.locator(".strip .unsounded")).to_contain_text("Bone was not sounded at this tooth")
    assert page.locator(".slice .measure").filter(has_text="crest").count() == 0


@pytest.mark.parametrize("size", [(1440, 900), (768, 1024)], ids=lambda s: f"{s[0]}x{s[1]}")
def test_a_depth_that_was_not_sounded_has_room_on_the_slice(page: Page, size: tuple[int, int]) -> None:
    document = overgrown()
    document["teeth"][0]["sites"]["bone_sounding"]["F"] = "not measurable"
    page.set_viewport_size({"width": size[0], "height": size[1]})
    open_made(page, document, "Plan")
    page.locator('.strip [role="slider"][aria-label*=" F,"]').focus()
    expect(page.locator(".slice .measure.depth_estimated")).to_contain_text("not sounded")
    assert labels_in_disorder(page) == []
