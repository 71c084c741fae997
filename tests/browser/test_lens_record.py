"""The record of lenses in Chromium: documents on paper, and a lens from its order to the eye."""

import re

import pytest
from playwright.sync_api import Page, expect

from service.facts import Role
from tests.running import Demo

pytestmark = pytest.mark.browser


def pages_on_paper(page: Page) -> int:
    return len(re.findall(rb"/Type\s*/Page\b", page.pdf(format="A4")))


def child_of(demo: Demo, page: Page, name: str) -> str:
    return f"{demo.address}{page.get_by_role('link', name=name).get_attribute('href')}"


def newest_document(page: Page, child: str) -> None:
    page.goto(f"{child}/corrections")
    page.locator("tbody th a").first.click()


def test_a_signed_correction_with_its_check_prints_on_one_page(demo: Demo, page: Page, shot) -> None:
    demo.sign_in(page, Role.OPTOMETRIST)
    milo, juno = (child_of(demo, page, name) for name in ("Milo", "Juno"))
    newest_document(page, juno)
    assert pages_on_paper(page) == 1
    newest_document(page, milo)
    for n, (sphere, cylinder, axis) in enumerate((("+0.75", "", ""), ("+4.75", "-1.00", "180"))):
        for label, typed in (("Sphere", sphere), ("Cylinder", cylinder), ("Axis", axis), ("Prism at the reference point", "0.5")):
            page.get_by_label(label).nth(n).fill(typed)
    page.get_by_role("button", name="Check and record").click()
    expect(page.get_by_text("fails", exact=True).first).to_be_visible()
    shot("10-document")
    assert pages_on_paper(page) == 1


def test_lenses_from_their_range_to_the_eye(demo: Demo, page: Page, shot) -> None:
    demo.sign_in(page, Role.OPTOMETRIST)
    juno = child_of(demo, page, "Juno")
    page.get_by_role("link", name="Lens ranges").click()
    shot("11-lens-ranges")
    page.get_by_role("link", name=re.compile("Change or end")).click()
    shot("11-lens-range")
    page.goto(f"{juno}/lenses")
    page.get_by_label("Note").fill("the spare was lost")
    page.get_by_role("button", name="Order", exact=True).click()
    for before, after in (("ordered", "arrived, a spare"), ("in use", "taken out, a spare"), ("arrived, a spare", "in use")):
        page.locator("tbody tr").filter(has=page.locator("td", has_text=re.compile(f"^{before}$"))).first.get_by_role("link").first.click()
        page.get_by_label(after, exact=True).check()
        shot("12-lens")
        page.get_by_role("button", name="Enter it").click()
    expect(page.locator("tbody td", has_text=re.compile("^in use$"))).to_have_count(1)
    shot("12-lenses")
