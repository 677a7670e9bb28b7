"""Backups in a real browser: said on the first screen, one by hand, a case deleted, a backup restored by the page alone."""

import re
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from collum.records.backup import read_manifest
from tests.browser.conftest import DEMO, MAKE, PASSPHRASE, WAIT_MS, set_up, unlock, violations_in_both_schemes
from tests.browser.test_lock import serving

pytestmark = pytest.mark.slow


def tab(chromium: Browser, link: str) -> Page:
    context = chromium.new_context(viewport={"width": 1440, "height": 900})
    context.set_default_timeout(WAIT_MS)
    page = context.new_page()
    page.goto(link)
    return page


def test_a_backup_is_made_and_brought_back_by_the_pages_alone(chromium: Browser, tmp_path: Path) -> None:
    document = next(iter(DEMO.values()))
    reference = str(document["patient"]["reference"])
    with serving(tmp_path / "first", 600) as link:
        page = tab(chromium, link)
        set_up(page)
        line = page.locator("p.backup")
        expect(line).to_have_attribute("data-backup", "good")
        case_id = page.evaluate(MAKE, document)
        line.get_by_role("button", name="Backups").click()
        rows = page.locator(".backups tbody tr")
        expect(rows).to_have_count(1)
        page.get_by_role("button", name="Make a backup now").click()
        expect(rows).to_have_count(2)
        expect(rows.first).to_contain_text("whole")
        place = tmp_path / "another disk"
        page.get_by_role("button", name="Change where they go").click()
        page.get_by_label("folder, with its whole path").fill("another disk")
        page.get_by_role("button", name="Use this from now on").click()
        expect(page.get_by_role("alert")).to_contain_text("not the whole name of a folder")
        page.get_by_label("folder, with its whole path").fill(str(place))
        page.get_by_label("how many are kept").fill("12")
        assert violations_in_both_schemes(page) == []
        page.get_by_role("button", name="Use this from now on").click()
        expect(page.locator(".backups")).to_contain_text(f"Those made before stay in {tmp_path / 'first' / 'backups'}")
        expect(page.locator(".backups")).to_contain_text("The last 12 are kept")
        expect(rows).to_have_count(1)
        page.goto(f"{page.url.split('#')[0]}#case={case_id}/record")
        page.get_by_text("Delete this case").click()
        page.get_by_label("the code of the case, to confirm").fill(reference)
        page.get_by_role("button", name="Delete for good").click()
        page.wait_for_selector("main.list")
        gone = re.compile(rf"^{reference} was deleted\. 1 backup still holds it, until \d")
        expect(page.locator(".parting")).to_contain_text(gone)
        expect(page.locator(".list a", has_text=reference)).to_have_count(0)
        page.context.close()
    # The second one made: the first was before the case, those that went to the other folder after it.
    files = (tmp_path / "first" / "backups").glob("*.collum-backup")
    made = sorted(files, key=lambda file: read_manifest(file).entries)[1]
    with serving(tmp_path / "second", 600) as link:
        page = tab(chromium, link)
        page.get_by_role("button", name="Bring a practice back from a backup").click()
        page.get_by_test_id("backup-file").set_input_files(made)
        restore = page.locator("main.restore")
        restore.get_by_label("passphrase", exact=True).fill(PASSPHRASE)
        restore.get_by_role("button", name="Look what is in it").click()
        expect(page.get_by_test_id("restorable")).to_contain_text("Cases 1")
        expect(restore).to_contain_text("deleted again with this restore: 0")
        assert violations_in_both_schemes(page) == []
        restore.get_by_role("button", name="Restore it").click()
        page.get_by_role("heading", name="Locked").wait_for()
        told = page.locator("section.restored")
        expect(told).to_contain_text("Restored: the backup made")
        expect(told).to_contain_text("Cases: 1")
        expect(told).to_contain_text("open a new visit")
        assert violations_in_both_schemes(page) == []
        unlock(page)
        page.wait_for_selector(".list a")
        expect(page.locator(".list a", has_text=reference)).to_have_count(1)
        page.context.close()
    (tmp_path / "first" / "practice.db").unlink()
    with serving(tmp_path / "first", 600) as link:
        page = tab(chromium, link)
        expect(page.get_by_role("heading", name="The record does not open")).to_be_visible()
        expect(page.locator("main.lock")).to_contain_text("A record was kept here, and it is missing now")
        assert violations_in_both_schemes(page) == []
        page.get_by_role("button", name="Begin a new practice").click()
        expect(page.locator("main.lock")).to_contain_text("nothing is thrown away")
        page.get_by_role("button", name="Restore a backup").click()
        page.locator(".known button").first.click()
        page.get_by_label("passphrase", exact=True).fill(PASSPHRASE)
        page.get_by_role("button", name="Look what is in it").click()
        expect(page.get_by_test_id("restorable")).to_contain_text("Cases 0")
        assert violations_in_both_schemes(page) == []
        page.get_by_role("button", name="Restore it").click()
        page.get_by_role("heading", name="Locked").wait_for()
        unlock(page)
        page.wait_for_selector("main.list")
        expect(page.locator(".list a", has_text=reference)).to_have_count(0)  # it was deleted, and stays so
        page.context.close()
