"""A visit: what may be entered, what is asked about, what is refused, and how it is shown and corrected."""

import re
from dataclasses import replace

import pytest

from service.asked import EYE_GROUPS, VISIT_GROUPS, Asked, asked
from service.facts import Child, Role
from service.i18n import words
from shared.vocabulary import Laterality
from tests.people import infant, register
from tests.service.pages import new_visit, submit, taking
from tests.service.typed import BOTH_EYES, CARDS, TRIAL_LENS


def test_a_visit_stands_beside_what_it_was_read_as(signed_in, baby: Child) -> None:
    browser = signed_in(Role.ORTHOPTIST)
    page = browser.get(submit(browser, new_visit(baby), **TRIAL_LENS).headers["location"]).text
    # 30 cycles/degree is 0.0 logMAR; 4.8 against 1.2 cycles/degree is a ratio of four, two octaves (the definitions)
    assert "1.2 cpd" in page and "1.40 logMAR" in page and "2.0 octaves" in page
    assert "+2.50" in page and "first time with this test" in page


def test_between_grating_and_optotype_no_difference_is_given(signed_in, baby: Child) -> None:
    browser = signed_in(Role.ORTHOPTIST)
    typed = TRIAL_LENS | {"first_right_acuity": "", "second_method": "crowded-pictures", "second_right_acuity": "6/12"}
    page = browser.get(submit(browser, new_visit(baby), **typed).headers["location"]).text
    assert page.count("needs an acuity of each eye with one test") == 2


@pytest.mark.parametrize(
    ("field", "typed", "says"),
    [
        ("first_left_acuity", "0.5", "decimal"),
        ("first_left_acuity", "20/0", "20/0"),
        ("first_method", "", "Which test"),
        ("first_method", "crowded-hotv", "is not a result of crowded HOTV letters: it belongs to grating cards"),
        ("first_left_not_testable", "yes", "please keep one"),
        ("left_over_sphere", "80", "cannot be"),
        ("left_over_axis", "200", "cannot be"),
        ("left_over_axis", "", ""),
        ("left_over_vertex_distance_mm", "120", "cannot be"),
        ("first_right_acuity", "6/12", "“6/12” is not a result of grating cards: it belongs to letters or pictures."),
        ("first_right_acuity", "6/12", "enter one as the first test and the other as the second"),
        ("first_right_acuity", "CF", "is not a result of"),
        ("first_distance_cm", "0.55", "looks like a value in metres: that is 55 cm"),  # 1 m is 100 cm
        ("first_distance_cm", "0.05", "cannot be"),
        ("left_corneal_thickness_um", "0.55", "looks like a value in mm: that is 550 µm"),  # 1 mm is 1000 µm
        ("left_working_distance_cm", "67", "taken off already"),
        ("second_method", "crowded-hotv", "no result yet"),
        ("first_both_reliability", "good", "What was seen"),
        ("tester", "x" * 81, "At most 80"),
        ("left_over_sphere", "", "needs its sphere"),
        ("left_trial_lens_dioptres", "", "belong together"),
        ("left_refraction_sphere", "18", "means nothing without its vertex distance"),
        ("on", "2025-10-01", "before the date of birth"),
        ("on", "2026-03-03", "in the future"),
    ],
)
def test_impossible_findings_are_refused_and_everything_typed_stays(signed_in, baby: Child, field: str, typed: str, says: str) -> None:
    browser = signed_in(Role.ORTHOPTIST)
    answer = submit(browser, new_visit(baby), **TRIAL_LENS | {field: typed})
    assert answer.status_code == 422 and says in answer.text
    kept = taking(answer.text).values
    for name, value in (TRIAL_LENS | {field: typed}).items():
        assert kept.get(name, "") == value, name


def test_an_acuity_below_the_norm_of_its_age_says_so_with_its_source(signed_in, sam: Child) -> None:
    """At 61 months HOTV of 20/32 still passes (Pan 2009, as read); a poor reading and a test without a norm are held to none."""
    browser = signed_in(Role.ORTHOPTIST)
    typed = {"first_method": "crowded-hotv", "first_right_acuity": "20/32", "first_left_acuity": "20/63"}
    page = browser.get(submit(browser, new_visit(sam), **typed).headers["location"]).text
    assert page.count("below the norm of its age") == 1 == page.count("within the norm of its age") and "Optom Vis Sci 2009" in page
    child = browser.get(f"/children/{sam.public_id}").text
    assert child.count("below the norm of its age") == 1 and "Pan 2009" in child
    for unheld in ({"first_left_reliability": "poor", "on": "2026-02-01"}, {"first_method": "crowded-pictures", "on": "2026-02-02"}):
        page = browser.get(submit(browser, new_visit(sam), **typed | unheld).headers["location"]).text
        assert "below the norm of its age" not in page


@pytest.mark.parametrize(("weeks_premature", "verdict"), [(0, "below"), (8, "within")])
def test_a_grating_is_held_to_the_norm_of_the_corrected_age(signed_in, engine, clinic, weeks_premature: int, verdict: str) -> None:
    """Mayer 1995: limits by hand 2.68 / 2^(1.96 x 0.47) = 1.42 at four months, 2.16 / 2^(1.96 x 0.43) = 1.20 at two and a half."""
    child, browser = register(engine, clinic, replace(infant(), weeks_premature=weeks_premature)), signed_in(Role.ORTHOPTIST)
    typed = {"first_method": "grating-cards", "first_distance_cm": "55", "first_left_acuity": "1.3 cpd", "first_both_acuity": "1.1 cpd"}
    page = browser.get(submit(browser, new_visit(child), **typed).headers["location"]).text
    assert page.count("the norm of its age") == page.count(f"{verdict} the norm of its age") == 1, "the norm is of one eye"


def test_letters_beyond_the_line_are_worth_their_share_of_the_charts_line(signed_in, sam: Child) -> None:
    browser = signed_in(Role.ORTHOPTIST)
    typed = {"first_method": "crowded-letters", "first_right_acuity": "20/40-2", "first_left_acuity": "0.3 logMAR +1"}
    refused = submit(browser, new_visit(sam), **typed)
    assert refused.status_code == 422 and "give the letters a line of this test" in refused.text
    page = browser.get(submit(browser, new_visit(sam), **typed, first_letters_per_line="4").headers["location"]).text
    # 0.025 a letter with four a line (Bailey-Lovie): 0.301 + 0.05, and 0.3 - 0.025
    assert "20/40-2" in page and "0.35 logMAR" in page and "0.28 logMAR" in page


def test_two_tests_on_a_day_are_two_series_and_both_eyes_together_are_a_reading(signed_in, sam: Child) -> None:
    browser = signed_in(Role.ORTHOPTIST)
    typed = {
        "first_method": "grating-cards",
        "first_distance_cm": "84",
        "first_both_acuity": "13 c/cm",
        "first_right_acuity": "13 c/cm",
        "first_left_acuity": "6.5 c/cm",
        "second_method": "crowded-hotv",
        "second_right_acuity": "80 letters",
        "second_left_acuity": "0.6 logMAR",
    }
    visit = submit(browser, new_visit(sam), **typed).headers["location"]
    page = browser.get(visit).text
    # one octave between 13 and 6.5 c/cm whatever the distance; 80 letters are 1.7 - 80 x 0.02 = 0.10 logMAR (Gregori 2010, as read)
    assert "1.0 octave" in page and "+1.0 octave" not in page and "0.10 logMAR" in page and "+0.50 logMAR" in page and "Both eyes" in page
    again = taking(browser.get(f"{visit}/correct").text, "version").values
    assert {name: again[name] for name in typed} == typed
    card = submit(browser, new_visit(sam), **typed | {"first_distance_cm": ""})
    assert card.status_code == 422 and "nothing without the test distance" in card.text


def test_no_rule_rests_on_a_reading_after_the_patch_or_under_cycloplegia(signed_in, sam: Child) -> None:
    browser = signed_in(Role.ORTHOPTIST)
    for on, condition in (("2026-03-01", "first_patched_beforehand"), ("2026-03-02", "first_cycloplegia")):
        visit = submit(browser, new_visit(sam), **BOTH_EYES, on=on, **{condition: "yes"}).headers["location"]
        assert "no rule rests on it" in browser.get(visit).text
    assert "Not enough is known" in submit(browser, f"/children/{sam.public_id}/occlusion", step="look", adaptation_weeks="18").text


def test_a_corneal_radius_typed_for_a_power_is_caught_by_its_size(signed_in, baby: Child) -> None:
    browser = signed_in(Role.ORTHOPTIST)
    answer = submit(browser, new_visit(baby), left_k1_dioptres="7.5")
    # 45.00 D is 7.50 mm (formula sheet, as read)
    assert answer.status_code == 422 and "radius in mm" in answer.text and "+45.00 D" in answer.text
    typed = {"left_k1_dioptres": "45", "left_axial_length_mm": "18.1", "left_pressure_mmhg": "14"}
    page = browser.get(submit(browser, new_visit(baby), **typed).headers["location"]).text
    assert "45.00 D" in page and "18.10 mm" in page and "14 mmHg" in page


def test_every_finding_a_visit_may_ask_is_kept_shown_and_stands_in_the_form_again(signed_in, sam: Child) -> None:
    def typed(a: Asked, n: int) -> str:
        if a.longest:
            return "Glasses worn well; see in six weeks"
        return list(a.choices)[n % len(a.choices)].value if a.choices else f"{(a.low + a.high) / 2:g}"

    browser = signed_in(Role.ORTHOPTIST)
    values = {f"{eye}_{a.name}": typed(a, n) for n, a in enumerate(asked(EYE_GROUPS)) for eye in Laterality}
    values |= {a.name: typed(a, n) for n, a in enumerate(asked(VISIT_GROUPS))}
    visit = submit(browser, new_visit(sam), **values).headers["location"]
    page = browser.get(visit).text
    assert all(words("en").text(a.label) in page for groups in (EYE_GROUPS, VISIT_GROUPS) for a in asked(groups))
    kept = taking(browser.get(f"{visit}/correct").text, "version").values
    assert {name: kept[name] for name in values} == values


def test_the_conditions_of_a_visit_its_tests_and_its_trial_lens_stand_on_the_page_and_in_the_form_again(signed_in, baby: Child) -> None:
    browser = signed_in(Role.ORTHOPTIST)
    typed = CARDS | {name: value for name, value in TRIAL_LENS.items() if name.startswith("left_")}
    typed |= {"stereoacuity_arc_seconds": "200", "stereo_test": "contour-plates", "tester": "Ines Valadares, student"}
    visit = submit(browser, new_visit(baby), **typed).headers["location"]
    page = browser.get(visit).text
    assert "Ines Valadares, student" in page and "contour plates" in page and "200 ″" in page and "Tested first</dt><dd>both eyes" in page
    assert "lens +29.00 D, over-refraction +2.50 D / −1.00 D × 180°, vertex distance 12 mm" in page
    again = taking(browser.get(f"{visit}/correct").text, "version").values
    assert {name: again[name] for name in typed} == typed | {"left_trial_lens_dioptres": "+29.00"}


def test_who_examined_is_who_is_signed_in_until_another_name_is_given(signed_in, other_clinic, baby: Child) -> None:
    browser = signed_in(Role.ORTHOPTIST)
    page = browser.get(new_visit(baby)).text
    assert taking(page).values["tester"] == "orthoptist of one"
    offered = set(re.findall(r'<option value="([^"]*)"></option>', page))
    assert offered == {"orthoptist of one", "optometrist of one", "clinician of one"}, "who may examine, of this clinic alone"
    visit = submit(browser, new_visit(baby), **CARDS).headers["location"]
    assert "Examined by</dt><dd><bdi>orthoptist of one</bdi>" in browser.get(visit).text
    assert taking(signed_in(Role.CLINICIAN).get(f"{visit}/correct").text, "version").values["tester"] == "orthoptist of one", "a correction keeps who examined"


def headings_of_the_first_test(html: str) -> list[str]:
    return re.findall(r"<legend>(Right eye|Left eye|Both eyes together)</legend>", html)[:3]


def test_cards_begin_with_both_eyes_together_letters_with_each_eye(signed_in, baby: Child, sam: Child) -> None:
    """Common practice: the binocular acuity is taken first with cards, while the infant attends."""
    browser = signed_in(Role.ORTHOPTIST)
    cards_first, eyes_first = ["Both eyes together", "Right eye", "Left eye"], ["Right eye", "Left eye", "Both eyes together"]
    assert headings_of_the_first_test(browser.get(new_visit(baby)).text) == cards_first, "at this age"
    assert headings_of_the_first_test(browser.get(new_visit(sam)).text) == eyes_first
    cards, letters = CARDS | {"first_tested_first": ""}, BOTH_EYES | {"first_tested_first": "left", "on": "2026-03-01"}
    for typed, order in ((cards, "both right left"), (letters, "left right")):
        visit = submit(browser, new_visit(sam), **typed).headers["location"]
        rows = [row.lower().split()[0] for row in re.findall(r'<th scope="row">(Right|Left|Both eyes)</th>', browser.get(visit).text)]
        assert " ".join(rows) == order
    assert headings_of_the_first_test(browser.get(f"{visit}/correct").text) == eyes_first


def test_a_category_read_before_a_chart_stands_in_its_test_and_is_no_line_of_its_series(signed_in, sam: Child) -> None:
    """Counting fingers and hand movements are categories: no difference, no change in logMAR, no place on the curve (common practice)."""
    browser = signed_in(Role.ORTHOPTIST)
    for on, right, left in (("2026-01-05", "6/6", "CF"), ("2026-02-02", "6/6", "6/60"), ("2026-03-01", "HM", "6/60")):
        typed = {"on": on, "first_method": "crowded-hotv", "first_distance_cm": "300", "first_right_acuity": right, "first_left_acuity": left}
        visit = submit(browser, new_visit(sam), **typed).headers["location"]
        again = taking(browser.get(f"{visit}/correct").text, "version").values
        assert {name: again[name] for name in typed} == typed
    page = browser.get(visit).text
    assert "HM" in page and "is a category, not a measurement" in page and "first time with this test" in page, "the first hand movements of this eye"
    review = browser.get(f"/children/{sam.public_id}/review").text
    assert "Fellow eye down from “6/6” to “HM”" in review
    # 6/60 is 1.00 logMAR (by definition); fingers and hands are never subtracted from it
    curve = review[review.index("Visual acuity over time") : review.index("The same as tables")]
    assert "1.00 logMAR" in curve and "observed" not in curve
    assert {"0.00 logMAR", "1.00 logMAR"} == set(re.findall(r"\d\.\d\d logMAR", curve))


@pytest.mark.parametrize(
    "only",
    [
        {"fixation_preference": "prefers-right-holds-left"},
        {"left_red_reflex": "clear"},
        {"first_left_not_testable": "yes"},
        {"left_objection_to_cover": "strong"},
        {"left_pressure_not_obtained": "yes"},
    ],
)
def test_nothing_is_obligatory_that_a_small_child_would_not_give(signed_in, baby: Child, only: dict[str, str]) -> None:
    browser = signed_in(Role.ORTHOPTIST)
    saved = submit(browser, new_visit(baby), **only)
    assert saved.status_code == 303
    assert browser.get(saved.headers["location"]).status_code == 200 == browser.get(f"/children/{baby.public_id}/review").status_code


def test_a_keratometry_too_weak_for_a_cornea_is_refused_where_it_stands(signed_in, baby: Child) -> None:
    answer = submit(signed_in(Role.ORTHOPTIST), new_visit(baby), left_k1_dioptres="22", left_k2_dioptres="7.8")
    assert answer.status_code == 422 and "22 D cannot be; between 25 and 65 D would" in answer.text and "looks like a radius in mm" in answer.text


def test_a_corneal_radius_with_its_unit_is_kept_as_its_power(signed_in, baby: Child) -> None:
    browser = signed_in(Role.ORTHOPTIST)
    # 45.00 D is 7.50 mm (formula sheet, as read)
    visit = submit(browser, new_visit(baby), left_k1_dioptres="7.50 mm", left_k2_dioptres="7,5MM").headers["location"]
    assert browser.get(visit).text.count("45.00 D") == 2
    for typed in ("2 mm", "30 mm", "a mm"):
        refused = submit(browser, new_visit(baby), left_k1_dioptres=typed, left_k2_dioptres="7.60 mm")
        assert refused.status_code == 422 and f'value="{typed}"' in refused.text and 'value="7.60 mm"' in refused.text
