"""What goes on paper, in Chromium: the two-week sheet fills one page of the size that was chosen, and the nursery's card can be read by another decoder."""

import re
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from service.facts import Role
from tests.running import Demo
from tests.zbar import read_codes

pytestmark = pytest.mark.browser

POINTS = {"a4": (595, 842), "letter": (612, 792)}


def no_faults(page: Page) -> None:
    found = Axe().run(page)
    assert found.violations_count == 0, found.generate_report()


def on_paper(page: Page) -> list[tuple[int, int]]:
    """The pages in points, as the sheet itself asks for them."""
    printed = page.pdf(prefer_css_page_size=True)
    return [(int(float(w) + 0.5), int(float(h) + 0.5)) for w, h in re.findall(rb"/MediaBox\s*\[0 0 ([\d.]+) ([\d.]+)\]", printed)]


@pytest.mark.parametrize("paper", POINTS)
def test_two_weeks_fill_one_sheet_of_the_chosen_size(demo: Demo, page: Page, size: str, shot, paper: str) -> None:
    demo.sign_in(page, Role.RECEPTION)
    child = page.get_by_role("link", name="Juno").get_attribute("href")
    for pictures in ("", "yes"):
        page.goto(f"{demo.address}{child}/sheet?paper={paper}&pictures={pictures}")
        expect(page.locator("tbody tr")).to_have_count(14)
        shot(f"60-sheet-{paper}-{pictures or 'words'}")
        assert on_paper(page) == [POINTS[paper]]
    no_faults(page)


def test_a_sheet_is_typed_in_and_a_nursery_notes_today(demo: Demo, page: Page, shot, tmp_path: Path) -> None:
    demo.sign_in(page, Role.RECEPTION)
    child = page.get_by_role("link", name="Tessa").get_attribute("href")
    page.goto(f"{demo.address}{child}/sheet/entry")
    today = page.locator("fieldset").last
    today.get_by_label("Patch was on").fill("90")
    today.get_by_label("Glasses or lens").select_option("on")
    page.get_by_role("button", name="Note these days").click()
    expect(page.get_by_role("status")).to_contain_text("1 day noted.")
    expect(page.locator("fieldset").last).to_contain_text("1 hour 30 minutes")
    shot("61-typed-in")
    no_faults(page)
    page.goto(f"{demo.address}{child}/nursery-links")
    page.get_by_label("For which place").fill("Nursery")
    page.get_by_role("button", name="Make the card").click()
    shot("62-nursery-card")
    no_faults(page)
    picture = tmp_path / "code.png"
    page.get_by_role("img", name="QR code: page for today").screenshot(path=picture)
    (address,) = read_codes(picture)
    assert address == page.locator("main code").text_content()
    page.goto(address)
    shot("63-nursery")
    no_faults(page)
    page.get_by_text("Yes", exact=True).check()
    page.get_by_role("button", name="All of it, 6 hours").click()
    expect(page.get_by_role("status")).to_contain_text("Noted. Thank you.")
    expect(page.get_by_text("1 hour 30 minutes")).to_have_count(0)  # what a home noted
    page.goto(f"{demo.address}/help/calendars")
    shot("64-calendars")
    no_faults(page)
