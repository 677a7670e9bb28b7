"""Files of a case on the leaf of the kept plans: added, shown, saved, taken out; what is cancelled is not kept."""

import struct
import zlib
from time import monotonic

import numpy as np
import pytest
from playwright.sync_api import FilePayload, Locator, Page, expect

from tests.browser.conftest import WAIT_MS, Workbench, open_made, premolar, violations


def png(width: int, height: int) -> bytes:
    """Return a picture of noise, so that it is as large as it looks."""
    rows = np.random.default_rng(6).integers(0, 256, (height, width, 3), dtype=np.uint8)
    raw = b"".join(b"\0" + row.tobytes() for row in rows)
    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    parts = ((b"IHDR", head), (b"IDAT", zlib.compress(raw, 1)), (b"IEND", b""))
    chunks = (struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data)) for name, data in parts)
    return b"\x89PNG\r\n\x1a\n" + b"".join(chunks)


PICTURE: FilePayload = {"name": "film <b>36</b>.png", "mimeType": "image/png", "buffer": png(640, 480)}


def files(page: Page) -> Locator:
    return page.get_by_role("region", name="Files of this case")


def add(page: Page, payload: FilePayload) -> None:
    files(page).get_by_label("file", exact=True).set_input_files(payload)
    files(page).get_by_role("button", name="Add this file").click()


def test_a_film_is_added_shown_saved_as_it_was_and_taken_out_with_a_reason(page: Page) -> None:
    open_made(page, premolar(), "Record")
    files(page).get_by_label("taken on").fill("2026-04-30")
    add(page, PICTURE)
    row = files(page).locator(".files-list li")
    expect(row).to_contain_text("film <b>36</b>.png")
    expect(row).to_contain_text("radiograph · 2026-04-30")
    expect(row.locator(".files-small img")).to_have_js_property("naturalWidth", 120)
    row.get_by_role("button", name="Open").click()
    expect(files(page).locator(".files-shown img")).to_have_js_property("naturalWidth", 640)
    with page.expect_download() as saved:
        row.get_by_role("button", name="Save").click()
    assert saved.value.suggested_filename.endswith("-radiograph-2026-04-30.png")
    assert saved.value.path().read_bytes() == PICTURE["buffer"]
    assert violations(page) == []
    row.get_by_role("button", name="Remove", exact=True).click()
    files(page).get_by_label("reason").fill("another tooth")
    files(page).get_by_role("button", name="Remove it").click()
    expect(files(page).locator(".files-removed summary")).to_have_text("Removed: 1")
    expect(row).to_have_count(0)
    files(page).locator(".files-removed summary").click()
    expect(files(page).locator(".files-removed")).to_contain_text("another tooth")
    page.reload()
    expect(files(page).locator(".files-removed summary")).to_have_text("Removed: 1")


def test_what_is_cancelled_or_not_taken_leaves_nothing_and_says_so(page: Page, workbench: Workbench) -> None:
    open_made(page, premolar(), "Record")
    before = set((workbench.data / "attachments").glob("*"))
    session = page.context.new_cdp_session(page)
    session.send("Network.enable")
    slow = {"offline": False, "latency": 0, "downloadThroughput": -1, "uploadThroughput": 100_000}
    session.send("Network.emulateNetworkConditions", slow)  # so that it is on its way for as long as the test looks
    add(page, {"name": "jaw.png", "mimeType": "image/png", "buffer": png(1600, 1600)})
    progress = files(page).get_by_role("progressbar")
    expect(progress).to_be_visible()
    page.wait_for_function("() => { const p = document.querySelector('.files progress'); return p && p.value > 0 }")
    files(page).get_by_role("button", name="Cancel").click()
    expect(files(page).get_by_role("alert")).to_have_text("Cancelled. Nothing of this file was kept.")
    session.send("Network.emulateNetworkConditions", slow | {"uploadThroughput": -1})
    add(page, {"name": "a.zip", "mimeType": "application/zip", "buffer": b"PK\x03\x04" + bytes(200_000)})
    expect(files(page).get_by_role("alert")).to_contain_text("This kind of file is not kept")
    expect(files(page).locator(".hint").first).to_contain_text("No file yet")
    page.reload()
    expect(files(page).locator(".hint").first).to_contain_text("No file yet")
    end = monotonic() + WAIT_MS / 1000
    while set((workbench.data / "attachments").glob("*")) - before and monotonic() < end:
        page.wait_for_timeout(50)  # the server learns of the cancel in its own time
    assert set((workbench.data / "attachments").glob("*")) - before == set()


@pytest.mark.parametrize("width", [320, 1440])
def test_the_list_stays_within_the_page(page: Page, width: int) -> None:
    page.set_viewport_size({"width": width, "height": 900})
    open_made(page, premolar(), "Record")
    add(page, PICTURE | {"name": "w" * 190 + ".png"})
    expect(files(page).locator(".files-list li")).to_have_count(1)
    assert page.evaluate("document.documentElement.scrollWidth") <= width
