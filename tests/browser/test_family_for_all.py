"""The family's pages for everybody: from right to left, with text at twice its size, on a narrow screen, by keyboard, by what a screen reader is told."""

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from tests.running import Demo

pytestmark = pytest.mark.browser
PAGES = ("", "/signs", "/week", "/tell", "/tell?none=yes", "/why", "/more", "/reminders", "/language", "/calendar", "/routine", "/patches", "/sheet")


@pytest.fixture
def arabic(demo: Demo) -> str:
    return f"{demo.address}/family/{demo.tokens.link('fellow-eye')[1]}"


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing_in_arabic(demo: Demo, page: Page, arabic: str, scheme: str, shot) -> None:
    page.emulate_media(color_scheme=scheme)
    found = {}
    for part in PAGES:
        page.goto(arabic + part)
        expect(page.locator("html")).to_have_attribute("dir", "rtl")
        result = Axe().run(page)
        if result.violations_count:
            found[part] = result.generate_report()
        if scheme == "light":
            shot(f"arabic{part.replace('/', '-').replace('?', '-')}")
    assert found == {}, "\n".join(f"{k}: {v}" for k, v in found.items())


def test_a_face_never_turns_with_the_direction_of_the_writing(demo: Demo, page: Page, arabic: str) -> None:
    """The right eye of a child who looks at you is on your left, in every language."""
    page.goto(arabic)
    face = page.locator("svg.face").first
    before = face.evaluate("e => e.outerHTML.replace(/>[^<]+</g, '><')")
    page.evaluate("document.documentElement.dir = 'ltr'")
    assert face.evaluate("e => e.outerHTML.replace(/>[^<]+</g, '><')") == before
    patch = page.locator("svg.face .patch, svg.face [data-patch]").first.bounding_box()
    whole = face.bounding_box()
    assert patch and whole and patch["x"] + patch["width"] / 2 < whole["x"] + whole["width"] / 2, "the right eye is covered"


@pytest.mark.parametrize("size", ["phone"])
@pytest.mark.parametrize("language", ["english", "arabic"])
def test_nothing_is_cut_off_with_text_at_twice_its_size_or_on_the_narrowest_screen(demo: Demo, page: Page, arabic: str, language: str, size: str) -> None:
    """WCAG 2.2, 1.4.4: 200 %; 1.4.10: 320 CSS pixels."""
    home = arabic if language == "arabic" else demo.caregiver
    cut_off = """() => [...document.querySelectorAll('main *')]
      .filter(e => e.checkVisibility() && !e.closest('.table, svg, .visually-hidden') && e.scrollWidth > e.clientWidth + 1)
      .filter(e => ['hidden', 'clip'].includes(getComputedStyle(e).overflowX)).map(e => e.outerHTML.slice(0, 120))"""
    found = {}
    for width, text in ((780, "200%"), (320, "100%")):
        page.set_viewport_size({"width": width, "height": 844})
        for part in PAGES:
            page.goto(home + part)
            page.evaluate(f"document.documentElement.style.fontSize = '{text}'")
            if not page.evaluate("document.documentElement.scrollWidth <= window.innerWidth"):
                found[part, width] = page.evaluate("document.documentElement.scrollWidth")
            if cut := page.evaluate(cut_off):
                found[part, width, "cut"] = cut
    assert found == {}


def pressed_until(page: Page, found: str, key: str = "Tab") -> None:
    """Tabs until what has the focus matches a selector."""
    for _ in range(80):
        page.keyboard.press(key)
        if page.evaluate("s => document.activeElement.matches(s)", found):
            return
    raise AssertionError(f"the keyboard does not reach {found}")


def test_the_keyboard_alone_notes_the_day_and_reaches_the_signs(demo: Demo, page: Page) -> None:
    page.goto(demo.caregiver)
    pressed_until(page, "input[name=correction_worn]")
    page.keyboard.press("Space")
    pressed_until(page, "button[name=how][value=all]")
    page.keyboard.press("Enter")
    expect(page.get_by_role("status").first).to_contain_text("Noted:")
    pressed_until(page, "a.call")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_have_text("Call the same day")


def test_a_screen_reader_is_told_what_there_is(demo: Demo, page: Page) -> None:
    """By the tree that Chromium gives to assistive technology."""
    page.goto(demo.caregiver)
    told = page.locator("body").aria_snapshot()
    for line in (
        'heading "2 hours patch time" [level=1]',
        "img \"The child's RIGHT eye is covered",
        'group "Were the glasses on?',
        'radio "Yes"',
        'button "All of it, 2 hours"',
        'navigation "Pages"',
        'link "Call the same day"',
    ):
        assert line in told, told
    assert 'button ""' not in told and 'link ""' not in told
