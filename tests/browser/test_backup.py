"""Backups in a real browser: said on the first screen, one by hand, a case deleted, a backup restored by the page alone."""

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
        assert violations_in_both_schemes(page) == []
        page.goto(f"{page.url.split('#')[0]}#case={case_id}/kept")
        page.get_by_text("Delete this case").click()
        page.get_by_label("the code of the case, to confirm").fill(reference)
        page.get_by_role("button", name="Delete for good").click()
        expect(page.locator("section.delete")).to_contain_text("Backups that still hold it")
        page.locator("section.delete a").click()
        page.wait_for_selector("main.list")
        expect(page.locator(".list a", has_text=reference)).to_have_count(0)
        page.context.close()
    # The second one made: the first was before the case, the last, at the end, after its deletion.
    files = (tmp_path / "first" / "backups").glob("*.collum-backup")
    made = sorted(files, key=lambda file: read_manifest(file).entries)[1]
    with serving(tmp_path / "second", 600) as link:
        page = tab(chromium, link)
        page.get_by_text("Restore a backup").click()
        page.get_by_test_id("backup-file").set_input_files(made)
        restore = page.locator("details.restore")
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
