"""The main job in Chromium, as people of the clinic and a family would walk it, at phone and desk size."""

import re

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from service.calculations.registry import BY_NAME
from service.facts import Role
from service.views.calculation_page import example_address
from tests.running import Demo

pytestmark = pytest.mark.browser


def test_the_main_job_from_registration_to_review(demo: Demo, page: Page, shot) -> None:
    demo.sign_in(page, Role.CLINICIAN)
    shot("01-caseload")
    _register(page, shot)
    _visit(page, shot)
    _correction(page, shot)
    _occlusion(page, shot)
    phone, feed = _link(page, shot)
    child = page.url.replace("/links", "")

    assert page.request.get(feed).text().count("SUMMARY:time 5 h") > 10
    page.goto(phone)
    expect(page.get_by_role("heading", level=1)).to_contain_text("5 h")
    shot("07-family-today")
    page.get_by_role("button", name=re.compile("All of it")).click()
    expect(page.get_by_text("You tapped: 5 hours")).to_be_visible()
    expect(page.locator(".face")).to_be_in_viewport(ratio=1)
    shot("08-family-glasses-unanswered")
    page.get_by_label("Yes", exact=True).check()
    page.get_by_role("button", name="Note it").click()
    expect(page.get_by_role("status")).to_contain_text("Noted")
    shot("08-family-noted")
    page.get_by_role("button", name="Undo").click()
    expect(page.get_by_role("status")).to_contain_text("Taken back")
    page.get_by_text("Some of it").click()
    page.get_by_label(re.compile("How many minutes")).fill("90")
    page.get_by_label("Yes", exact=True).check()
    page.get_by_role("button", name="Note these minutes").click()
    expect(page.get_by_role("status").get_by_text("1 hour 30 minutes")).to_be_visible()

    page.goto(f"{child}/review")
    shot("09-review-new-child")
    page.locator("#reason").fill("fellow eye to be seen again")
    page.get_by_label(re.compile("Review; needed")).fill("2026-03-20")
    page.get_by_role("button", name=re.compile("Sign a pause")).click()
    page.goto(phone)
    expect(page.get_by_role("heading", level=1)).to_contain_text("Pause")
    assert "SUMMARY:time 5 h" not in page.request.get(feed).text()


def _register(page: Page, shot) -> None:
    page.locator("#main").get_by_role("link", name="Register a child").click()
    page.get_by_label("Clinic reference").fill("HM-2001")
    page.get_by_label("Short name").fill("Wren")
    page.get_by_label("Date of birth").fill("2025-10-08")
    page.get_by_label("deprivation", exact=True).check()
    page.get_by_role("radiogroup", name="Amblyopic eye").get_by_label("left").check()
    left = page.get_by_role("group", name="Left eye", exact=True)
    left.get_by_label("aphakic", exact=True).check()
    left.get_by_label("Date of surgery").fill("2025-12-10")
    shot("02-register")
    page.get_by_role("button", name="Register the child").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Wren")


def _visit(page: Page, shot) -> None:
    page.get_by_role("link", name="Record a visit").click()
    acuity = page.get_by_role("region", name="Acuity")
    acuity.get_by_label("Test", exact=True).first.select_option("grating-cards")
    for eye, typed in (("Right eye", "5.6 cpd"), ("Left eye", "1.2 cpd")):
        acuity.get_by_role("group", name=eye).first.get_by_label("As measured").fill(typed)
    left = page.get_by_role("region", name="Left eye")
    left.get_by_label("Power of the trial lens worn").fill("+29")
    left.get_by_label("Sphere").nth(1).fill("+2.5")
    left.get_by_label("Vertex distance of the over-refraction").fill("120")
    page.get_by_role("button", name="Save the visit").click()
    expect(page.get_by_text("120 mm cannot be").first).to_be_visible()
    shot("03-visit-refused")
    expect(acuity.get_by_role("group", name="Left eye").first.get_by_label("As measured")).to_have_value("1.2 cpd")
    left.get_by_label("Vertex distance of the over-refraction").fill("12")
    page.get_by_role("button", name="Save the visit").click()
    expect(page.get_by_text("1.40 logMAR")).to_be_visible()
    shot("03-visit")


def _correction(page: Page, shot) -> None:
    page.get_by_role("link", name="Work out the correction").click()
    expect(page.get_by_role("button", name="Sign this correction")).to_be_visible()
    shot("04-correction")
    page.get_by_role("button", name="Sign this correction").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Wren")


def _occlusion(page: Page, shot) -> None:
    page.get_by_role("link", name="Occlusion proposal").click()
    expect(page.get_by_text("5 h a day").first).to_be_visible()
    page.get_by_label(re.compile("I have read the cautions")).check()
    shot("05-occlusion")
    page.get_by_role("button", name=re.compile("Sign 5 h a day until")).click()
    expect(page.get_by_text("RIGHT").first).to_be_visible()
    shot("05-child")


def _link(page: Page, shot) -> tuple[str, str]:
    page.get_by_role("link", name="Caregivers' links").click()
    page.get_by_label("For whom and which device").fill("Mother, phone")
    shot("06-links")
    page.get_by_role("button", name="Make the link").click()
    shot("06-link-made")
    codes = page.locator("code").all_text_contents()
    return codes[0], codes[1]


PLACES = [
    "/",
    "/tokens",
    "/children/new",
    "{child}",
    "{child}/particulars",
    "{child}/bookings",
    "{child}/operation",
    "{child}/anaesthetic",
    "{aphakic}/secondary-lens",
    "{aphakic}/growth",
    "{child}/atropine",
    "{child}/measurements",
    "{child}/visits/new",
    "{visit}",
    "{visit}/correct",
    "{visit}/correction",
    "{child}/occlusion",
    "{child}/review",
    "{child}/links",
    "{child}/household",
    "{child}/household/versions",
    "{child}/corrections",
    "{document}",
    "{child}/lenses",
    "/lens-ranges",
    "/near-tables",
    "/protocols",
    "/rules",
    "/sources",
    "/calculations",
    *(example_address(BY_NAME[name]) for name in ("occlusion", "amblyopia-criteria", "aphakic-growth")),
    "/care-sets",
    "/inbox",
    "/family-texts",
    "{child}/handling",
    "{aphakic}/care",
]


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing_on_any_page(demo: Demo, page: Page, scheme: str, size: str, shot) -> None:
    page.emulate_media(color_scheme=scheme)
    found = {}

    def look(name: str) -> None:
        result = Axe().run(page)
        if result.violations_count:
            found[name] = result.generate_report()
        if scheme == "dark" or name in ("review", "sign-in", "family"):
            shot(f"axe-{scheme}-{name}")
        small = page.evaluate(
            """() => [...document.querySelectorAll('button, .button, input:not([type=hidden]), select, summary')].filter(e => e.checkVisibility())
                .map(e => [e.closest('label, .box') || e, e]).map(([box, e]) => [e.outerHTML.slice(0, 80), box.getBoundingClientRect().height])
                .filter(([, height]) => height && height < 44)"""
        )
        if small:
            found[f"{name} targets"] = small

    page.goto(f"{demo.address}/sign-in")
    look("sign-in")
    demo.sign_in(page, Role.CLINICIAN)
    child = page.get_by_role("link", name="Milo").get_attribute("href")
    aphakic = page.get_by_role("link", name="Juno").get_attribute("href")
    page.goto(f"{demo.address}{child}")
    visit = page.locator("table a").first.get_attribute("href")
    document = page.get_by_role("link", name="Spectacles").get_attribute("href")
    for place in PLACES:
        page.goto(demo.address + place.format(child=child, visit=visit, document=document, aphakic=aphakic))
        name = place.format(child="child", visit="visit", document="document", aphakic="aphakic").partition("?")[0]
        look(name.rsplit("/", 1)[-1] or "caseload")
    page.goto(f"{demo.address}{child}/links")
    page.locator("main table a").first.click()
    look("calendar")
    page.goto(demo.caregiver)
    look("family")
    for part in ("calendar", "routine", "patches", "sheet", "week", "signs", "tell", "tell?none=yes", "why", "more", "reminders", "language"):
        page.goto(f"{demo.caregiver}/{part}")
        look(f"family-{part.replace('?', '-')}")
    page.goto(demo.caregiver)
    page.get_by_role("button", name="Patch on: start").click()
    page.get_by_role("button", name="Patch off: stop and note it").wait_for()
    look("family-timer")
    page.goto(f"{demo.address}/family/odp_unknown")
    look("not-there")
    assert found == {}, "\n".join(f"{k}: {v}" for k, v in found.items())


def test_the_keyboard_alone_reaches_and_works_a_form(demo: Demo, page: Page) -> None:
    page.goto(f"{demo.address}/sign-in")
    page.keyboard.press("Tab")
    expect(page.get_by_text(re.compile("Skip"))).to_be_focused()
    page.get_by_label("Sign-in name").focus()
    page.keyboard.type("orthoptist@harrowmere.example")
    page.keyboard.press("Tab")
    page.keyboard.type("demo-harrowmere")
    page.keyboard.press("Enter")
    page.wait_for_url(f"{demo.address}/")
    expect(page.get_by_role("link", name="Milo")).to_be_visible()


@pytest.mark.parametrize("java_script_enabled", [False])
def test_it_works_without_a_script(demo: Demo, browser, java_script_enabled: bool) -> None:
    context = browser.new_context(java_script_enabled=java_script_enabled, viewport={"width": 390, "height": 844})
    page = context.new_page()
    page.goto(demo.caregiver)
    page.get_by_label("Yes", exact=True).check()
    page.get_by_role("button", name=re.compile("All of it")).click()
    expect(page.get_by_role("status")).to_contain_text("Noted")
    context.close()
