"""How long cases are kept, in a real browser: said on the first screen, decided by an owner; what an assistant is not shown."""

import hashlib
from datetime import timedelta
from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect

from collum.app.record.vault import opened_vault
from collum.records.sealing import Stretching, User
from tests.browser.conftest import DEMO, PASSPHRASE, unlock, violations_in_both_schemes
from tests.browser.test_backup import tab
from tests.browser.test_lock import serving
from tests.making.environment import START, FixedEnvironment

pytestmark = pytest.mark.slow
OF_ASSISTANT = "a grey heron sleeps"


@pytest.fixture(autouse=True)
def cheap(monkeypatch: pytest.MonkeyPatch) -> None:
    """A passphrase becomes a key by one hash, as in the server that is started."""

    def key_of(self: Stretching, passphrase: str) -> bytes:
        return hashlib.sha256(self.salt + passphrase.encode()).digest()

    monkeypatch.setattr(Stretching, "key_of", key_of)


def test_an_owner_decides_on_cases_past_their_time_and_an_assistant_gives_nothing_out(
    chromium: Browser, tmp_path: Path
) -> None:
    stays, goes = list(DEMO.values())[:2]
    long_ago = START - timedelta(days=40 * 366)
    with opened_vault(FixedEnvironment(data_directory=tmp_path / "data", moment=long_ago), draws=300) as vault:
        vault.set_up("AB", PASSPHRASE)
        vault.add_user(User(code="CD", role="assistant"), OF_ASSISTANT)
        for document in (stays, goes):
            vault.practice.create(document)
    with serving(tmp_path / "data", 600) as link:
        page = tab(chromium, link)
        page.get_by_label("your code", exact=True).fill("AB")
        unlock(page)
        line = page.locator("[data-past]")
        expect(line).to_contain_text("No time is set")
        line.get_by_role("button").click()
        keeping = page.locator(".keeping")
        keeping.get_by_label("years after the last entry").fill("10")
        keeping.get_by_role("button", name="Set").click()
        expect(line).to_have_attribute("data-past", "2")
        names = [str(document["patient"]["reference"]) for document in (stays, goes)]
        keeping.get_by_role("button", name=f"Decide on {names[0]}").click()
        assert violations_in_both_schemes(page) == []
        keeping.get_by_label("keep until").fill("2999-12-31")
        keeping.get_by_label("reason").fill("a claim is open")
        keeping.get_by_role("button", name="Keep longer").click()
        expect(line).to_have_attribute("data-past", "1")
        keeping.get_by_role("button", name=f"Decide on {names[1]}").click()
        keeping.get_by_label("the code of the case, to confirm").fill(names[1])
        keeping.get_by_role("button", name="Delete for good").click()
        expect(line).to_have_attribute("data-past", "0")
        expect(page.locator(".list li a", has_text=names[1])).to_have_count(0)
        expect(page.locator(".list li a", has_text=names[0])).to_have_count(1)
        page.get_by_role("button", name="Lock now").click()
        page.get_by_label("your code", exact=True).fill("CD")
        unlock(page, OF_ASSISTANT)
        case = page.locator(".list li a", has_text=names[0]).get_attribute("href")
        page.goto(f"{page.url.split('#')[0]}{case}/record")
        expect(page.get_by_role("region", name="Files of this case")).to_be_visible()
        for hidden in ("Save as a case file", "Give out everything on this person", "Delete this case"):
            expect(page.get_by_text(hidden)).to_have_count(0)
        page.context.close()
