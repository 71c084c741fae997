"""What surrounds the dose, in Chromium: an operation, booked visits, notices, the administrator, and the list for the next anaesthetic on one sheet."""

import re

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from service.facts import Role
from tests.browser.conftest import SHOTS
from tests.running import Demo

pytestmark = pytest.mark.browser


def no_faults(page: Page) -> None:
    found = Axe().run(page)
    assert found.violations_count == 0, found.generate_report()


def open_child(demo: Demo, page: Page, role: Role) -> str:
    """The first child of the caseload with a plan in force."""
    demo.sign_in(page, role)
    page.get_by_role("row").filter(has_text="eye covered").first.get_by_role("link").first.click()
    expect(page.get_by_role("heading", name="Plan in force")).to_be_visible()
    return page.url


def test_a_review_that_slips_is_seen_at_the_top_of_the_caseload(demo: Demo, page: Page, shot) -> None:
    child = open_child(demo, page, Role.RECEPTION)
    page.goto(f"{child}/bookings")
    page.get_by_role("link", name=re.compile("^Review, ")).first.click()
    page.get_by_label("Why needed").fill("the family asked")
    page.get_by_label("New date, to move it").fill("2026-07-07")
    shot("20-booking")
    page.get_by_role("button", name="Move it").click()
    expect(page.get_by_text(re.compile("moved from .* to 7 Jul 2026: the family asked"))).to_be_visible()
    shot("21-bookings")
    no_faults(page)
    page.get_by_role("button", name="Sign out").click()
    demo.sign_in(page, Role.CLINICIAN)
    expect(page.get_by_role("heading", name="Notices")).to_be_visible()
    shot("22-notices")
    no_faults(page)


def test_an_operation_says_what_follows_before_it_is_signed(demo: Demo, page: Page, shot) -> None:
    child = open_child(demo, page, Role.CLINICIAN)
    page.goto(f"{child}/operation")
    page.get_by_label("squint surgery").check()
    page.get_by_role("button", name="Show what follows").click()
    shot("23-operation")
    no_faults(page)
    page.get_by_role("button", name="Sign the operation").click()
    expect(page.get_by_text("patching stays suspended until a regimen is signed again")).to_be_visible()
    shot("24-after-operation")
    page.goto(f"{child}/review")
    shot("25-review-after-operation")
    no_faults(page)


def test_the_administrator_settles_rights_and_pathway(demo: Demo, page: Page, shot) -> None:
    demo.sign_in(page, Role.ADMINISTRATOR)
    page.get_by_role("link", name="Clinic", exact=True).click()
    page.get_by_label("Your clinic's own pathway").fill("Ring on the day.\nWrite after a week.")
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_role("status")).to_contain_text("Saved")
    shot("26-clinic")
    no_faults(page)


def test_the_list_for_the_next_anaesthetic_prints_on_one_page(demo: Demo, page: Page, shot) -> None:
    demo.sign_in(page, Role.CLINICIAN)
    page.get_by_role("link", name="Odile").click()  # two operated eyes with lenses: the longest list there is
    page.wait_for_url("**/children/*")
    page.goto(f"{page.url}/anaesthetic")
    shot("27-anaesthetic")
    no_faults(page)
    pdf = page.pdf(format="A4", margin=dict.fromkeys(("top", "bottom", "left", "right"), "12mm"), path=SHOTS / "27-anaesthetic.pdf")
    assert len(re.findall(rb"/Type\s*/Page\b(?!s)", pdf)) == 1
