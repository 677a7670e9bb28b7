"""The scan of a preparation on the leaf of the restoration: picked, answered, turned to facial, refused in words."""

from typing import Any

import pytest
from playwright.sync_api import FilePayload, Page, expect

from collum.core.preparation.made import Groove, PreparationDesign, preparation_mesh
from tests.browser.conftest import answered, open_case, turn, violations
from tests.browser.test_look import overlapping
from tests.making.mesh_files import binary_stl

pytestmark = pytest.mark.slow  # every answer starts a process that loads the program

DESIGN = PreparationDesign(
    facial_oral_mm=8.6,
    mesiodistal_mm=6.6,
    height_mm=4.6,
    convergence_facial_oral_deg=12,
    convergence_mesiodistal_deg=18,
    tilt_deg=4,
    tilt_towards_deg=60,
    proximal_rise_mm=0.5,
    grooves=(Groove(at_deg=270, depth_mm=0.9, width_mm=1.2, taper_deg=3),),
)
MESH = preparation_mesh(DESIGN, around=180, levels=24)


def scan(per_mm: float = 1, dropped: int = 0) -> FilePayload:
    data = binary_stl(MESH.vertices_mm * per_mm, MESH.faces[dropped:])
    return {"name": "made.stl", "mimeType": "application/octet-stream", "buffer": data}


def opened(page: Page) -> None:
    open_case(page, "AQ-12", "Restoration")
    answered(page)
    page.locator('[data-fold="scan"] button').first.click()


def picked(page: Page, payload: FilePayload) -> None:
    page.locator('[data-fold="scan"] input[type=file]').set_input_files(payload)
    expect(page.locator(".scan-answer")).to_have_attribute("data-current", "true")


def test_a_picked_file_is_answered_with_its_drawing_and_the_plan_beside_it(page: Page) -> None:
    opened(page)
    expect(page.locator(".scan-answer")).to_contain_text("open at the finish line")
    picked(page, scan())
    expect(page.locator("[data-testid=scan-verdict]")).to_contain_text("As it was scanned")
    expect(page.locator(".scan-answer")).to_contain_text("The plan counted on")
    assert page.locator(".scan-shape .facet").count() > 400
    expect(page.locator(".scan-measures")).to_contain_text("mm²")
    assert page.locator(".scan-drawn .hold-ring svg").get_attribute("aria-label")
    expect(page.locator(".scan-more")).to_contain_text("points that stood more than once were joined")
    assert violations(page) == []


def test_facial_is_told_by_its_angle_and_the_sides_get_their_names(page: Page) -> None:
    opened(page)
    picked(page, scan())
    expect(page.locator(".scan-shape").first).to_contain_text("90°")
    page.get_by_label("Facial is at").select_option("180")
    expect(page.locator(".scan-shape").first).to_contain_text("facial")
    expect(page.locator(".scan-more")).to_contain_text("proximal grooves")
    page.get_by_label("Facial is at 0°").select_option("180")
    expect(page.locator(".scan-answer")).to_have_attribute("data-current", "true")


def test_what_is_no_preparation_is_refused_in_words_and_the_unit_may_be_told(page: Page) -> None:
    opened(page)
    picked(page, scan(1000))
    alert = page.locator(".scan-answer [role=alert]")
    expect(alert).to_contain_text("as um it would be one preparation: choose that unit")
    page.get_by_label("Unit of the file").select_option("um")
    expect(page.locator("[data-testid=scan-verdict]")).to_be_visible()
    assert alert.count() == 0


def test_what_is_no_mesh_is_refused(page: Page) -> None:
    opened(page)
    picked(page, {"name": "letter.stl", "mimeType": "text/plain", "buffer": b"Dear colleague"})
    expect(page.locator(".scan-answer [role=alert]")).to_contain_text("none of the formats")


def test_the_answer_stays_while_other_leaves_are_looked_at(page: Page) -> None:
    opened(page)
    picked(page, scan())
    turn(page, "Plan")
    turn(page, "Restoration")
    expect(page.locator("[data-testid=scan-verdict]")).to_be_visible()


def test_labels_keep_apart_and_nothing_sticks_out_at_any_size(page: Page) -> None:
    opened(page)
    picked(page, scan())
    for width, height in ((1440, 900), (1024, 768), (768, 1024)):
        page.set_viewport_size({"width": width, "height": height})
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), width
        for drawing in page.locator('[data-fold="scan"] svg[role=img]').all():
            boxes: list[dict[str, Any]] = drawing.evaluate(
                """svg => [...svg.querySelectorAll("text")]
                     .map(e => ({ text: e.textContent, ...e.getBoundingClientRect().toJSON() }))"""
            )
            assert overlapping(boxes) == [], (width, drawing.get_attribute("aria-label"))
