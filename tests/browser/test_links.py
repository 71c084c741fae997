"""A new link's codes as a camera sees them, and the links' page on a phone."""

from pathlib import Path

import pytest
from playwright.sync_api import Page

from service.facts import Role
from tests.running import Demo
from tests.zbar import read_codes

pytestmark = pytest.mark.browser


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_a_picture_of_the_screen_is_read_back_as_the_addresses(demo: Demo, page: Page, scheme: str, shot, tmp_path: Path) -> None:
    page.emulate_media(color_scheme=scheme)
    demo.sign_in(page, Role.CLINICIAN)
    child = page.get_by_role("link", name="Milo").get_attribute("href")
    page.goto(f"{demo.address}{child}/links")
    for table in page.locator(".table").all():
        assert table.evaluate("e => e.scrollWidth <= e.clientWidth"), "nothing to scroll sideways"
    page.get_by_label("For whom and which device").fill("Mother, phone")
    page.get_by_role("button", name="Make the link").click()
    shot(f"link-made-{scheme}")
    phone, _, webcal = page.locator("main code").all_text_contents()
    for name, address in (("QR code: page for the phone", phone), ("QR code: calendar", webcal)):
        picture = tmp_path / "code.png"
        page.get_by_role("img", name=name).screenshot(path=picture)
        assert read_codes(picture) == [address]
    page.screenshot(path=tmp_path / "page.png", full_page=True)
    assert sorted(read_codes(tmp_path / "page.png")) == sorted([phone, webcal])
