"""A whole visit entered at the desk by keyboard alone: Tab to each field in the order of the form, arrows in a list, Space on a box and on what is folded."""

import pytest
from playwright.sync_api import Page, expect

from service.facts import Role
from tests.running import Demo

pytestmark = [pytest.mark.browser, pytest.mark.parametrize("size", ["desk"])]

MOST_TABS = 80  # between two fields of one form
FOCUSED = """() => {
    const e = document.activeElement
    if (e.tagName !== 'SUMMARY') return e.id || e.textContent.trim()
    return e.closest('section').getAttribute('aria-labelledby').replace('-heading', '') + ': ' + e.textContent.trim()
}"""
CHOSEN = "() => document.activeElement.selectedOptions[0].text"


class Keyboard:
    """Goes forward only, so what it reaches stands in the order in which it is asked for."""

    def __init__(self, page: Page) -> None:
        self.page = page

    def reach(self, name: str) -> None:
        """Tab to the field of this id, the button of these words, or `section: words` of what is folded."""
        passed = []
        for _ in range(MOST_TABS):
            self.page.keyboard.press("Tab")
            passed.append(self.page.evaluate(FOCUSED))
            if passed[-1] == name:
                return
        raise AssertionError(f"no way to {name}: {passed}")

    def write(self, **typed: str) -> None:
        for name, text in typed.items():
            self.reach(name)
            self.page.keyboard.type(text)

    def choose(self, **chosen: str) -> None:
        for name, label in chosen.items():
            self.reach(name)
            while (at := self.page.evaluate(CHOSEN)) != label:
                self.page.keyboard.press("ArrowDown")
                assert self.page.evaluate(CHOSEN) != at, f"{label} is not in {name}"

    def press(self, name: str, key: str = "Space") -> None:
        self.reach(name)
        self.page.keyboard.press(key)


def child(demo: Demo, page: Page, reference: str, born_on: str, cause: str, surgery_on: str = "") -> None:
    """Registered, and the form of the visit open."""
    demo.sign_in(page, Role.ORTHOPTIST)
    page.goto(f"{demo.address}/children/new")
    page.get_by_label("Clinic reference").fill(reference)
    page.get_by_label("Short name").fill("Ash")
    page.get_by_label("Date of birth").fill(born_on)
    page.get_by_label(cause, exact=True).check()
    page.get_by_role("radiogroup", name="Amblyopic eye").get_by_label("left").check()
    if surgery_on:
        left = page.get_by_role("group", name="Left eye", exact=True)
        left.get_by_label("aphakic", exact=True).check()
        left.get_by_label("Date of surgery").fill(surgery_on)
    page.get_by_role("button", name="Register the child").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Ash")
    page.goto(f"{page.url}/visits/new")


def shows(page: Page, *texts: str) -> None:
    expect(page.get_by_role("heading", level=1)).to_contain_text("Visit of")
    main = page.locator("#main")
    for text in texts:
        expect(main).to_contain_text(text)


def test_an_infant_of_nine_months(demo: Demo, page: Page, shot) -> None:
    child(demo, page, "HM-3001", "2025-06-01", "deprivation", "2025-08-05")
    keys = Keyboard(page)
    keys.choose(fixation_preference="prefers right, holds with left", first_method="grating cards")
    keys.write(first_distance_cm="55")
    keys.choose(first_tested_first="both eyes")
    keys.write(first_both_acuity="6.5 c/cm")
    keys.choose(first_both_reliability="good")
    keys.write(first_right_acuity="6.5 c/cm", first_left_acuity="1.6 c/cm")
    keys.choose(first_left_correction_worn="contact lens", first_left_reliability="fair")
    keys.press("right: Fixation")
    keys.choose(right_fixation_central="yes", right_fixation_steady="yes", right_fixation_maintained="yes", right_objection_to_cover="strong")
    keys.press("right: Pressure", "Enter")
    keys.press("left_refraction_sphere", "Tab")
    keys.write(left_trial_lens_dioptres="+26", left_over_sphere="+2.00", left_over_cylinder="-1.00", left_over_axis="180", left_over_vertex_distance_mm="12")
    keys.press("left: Fixation")
    keys.choose(left_fixation_central="yes", left_fixation_steady="no", left_fixation_maintained="no", left_objection_to_cover="none")
    keys.press("left: Reflex and stitches")
    keys.choose(left_red_reflex="clear", left_axis_clear="yes", left_stitches_in="no")
    keys.press("left: Pressure")
    keys.write(left_pressure_mmhg="14")
    keys.choose(left_pressure_method="rebound", left_pressure_measured="awake", left_on_steroid="yes")
    keys.press("left: Lens fit")
    keys.choose(left_lens_movement="good")
    shot("10-visit-infant-typed")
    keys.press("Save the visit", "Enter")
    shows(page, "Grating cards", "Tested first", "2.02 octaves", "lens +26.00 D, over-refraction +2.00 D / −1.00 D × 180°, vertex distance 12 mm")
    shows(page, "prefers right, holds with left", "strong", "14 mmHg", "rebound", "awake", "Lens movement")
    assert page.locator("tbody th").all_text_contents()[:3] == ["Both eyes", "Right", "Left"]
    shot("10-visit-infant")


def test_a_child_of_six_years(demo: Demo, page: Page, shot) -> None:
    child(demo, page, "HM-3002", "2020-01-20", "anisometropic")
    keys = Keyboard(page)
    keys.choose(first_method="other crowded letters")
    keys.write(first_distance_cm="300", first_letters_per_line="5")
    keys.choose(first_tested_first="right")
    keys.write(first_right_acuity="0.1 logMAR")
    keys.choose(first_right_correction_worn="spectacles", first_right_reliability="good")
    keys.write(first_left_acuity="0.5 logMAR")
    keys.choose(first_left_correction_worn="spectacles", first_left_reliability="good")
    keys.write(right_refraction_sphere="+1.00", left_refraction_sphere="2.50", left_refraction_cylinder="+1.00", left_refraction_axis="90")
    keys.press("together: Cover test")
    keys.choose(cover_near="eso")
    keys.write(cover_near_prism_dioptres="6")
    keys.choose(cover_distance="no deviation")
    keys.press("together: Both eyes together")
    keys.write(stereoacuity_arc_seconds="200")
    keys.choose(stereo_test="real-depth plates")
    keys.press("Save the visit", "Enter")
    expect(page.get_by_text("Did you mean +2.50 D or −2.50 D?")).to_be_visible()
    shot("11-visit-asked")
    keys.press("as_typed")
    keys.press("right_refraction_sphere", "Tab")
    keys.press("together: Cover test", "Tab")
    keys.press("Save the visit", "Enter")
    shows(page, "Other crowded letters", "+0.40 logMAR", "+2.50 D / +1.00 D × 90°", "eso", "6 pd", "no deviation", "200 ″", "real-depth plates")
    shows(page, "Examined by", "Recorded by")
    shot("11-visit-six-years")
