"""A family's days on the screen: an orthoptist tries them, saves them, and the family sees the same week."""

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from service.facts import Role
from tests.running import Demo

pytestmark = pytest.mark.browser


def test_days_are_tried_saved_and_seen_by_the_family(demo: Demo, page: Page, shot) -> None:
    demo.sign_in(page, Role.ORTHOPTIST)
    page.get_by_role("link", name="Milo").click()
    page.get_by_role("link", name="The family's days").click()
    expect(page.get_by_text("15:30").first).to_be_attached()
    page.get_by_label("Wakes at").fill("7:00")
    page.get_by_label("Sleeps at").fill("19:30")
    page.get_by_label("Preferred for the patch").fill("")
    page.get_by_label("Naps", exact=True).fill("13:00-14:00")
    page.get_by_label("Nursery or school without a patch").fill("8:30-16:30")
    page.get_by_label("When a patch is not welcome").fill("17:30-18:30 dinner and bath")
    page.get_by_label("Try it with a dose of").fill("240")
    page.get_by_role("button", name="Try").click()
    expect(page.get_by_role("heading", name="Tried, not saved")).to_be_visible()
    expect(page.get_by_text("do not fit into the day").first).to_be_visible()
    shot("household-tried")
    page.get_by_label("Nursery or school without a patch").fill("")
    page.get_by_label("Nursery or school that puts the patch on").fill("8:30-16:30")
    page.get_by_role("button", name="Save these days").click()
    expect(page.get_by_role("heading", name="Seven days from")).to_be_visible()
    assert Axe().run(page).violations_count == 0, Axe().run(page).generate_report()
    shot("household")
    page.goto(demo.caregiver)
    page.get_by_role("link", name="Your days").click()
    expect(page.get_by_role("cell").get_by_text("at nursery or school").first).to_be_visible()
    assert Axe().run(page).violations_count == 0, Axe().run(page).generate_report()
    shot("household-family")
    page.locator("#off_from_on").fill("2026-03-11")
    page.get_by_label("Why").fill("a cold")
    page.get_by_role("button", name="Add days off").click()
    expect(page.get_by_text("a day off", exact=True)).to_be_visible()
