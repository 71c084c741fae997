"""A visit: what may be entered, what is asked about, what is refused, and how it is shown and corrected."""

import pytest

from service.asked import EYE_GROUPS, VISIT_GROUPS, Asked, asked
from service.clock import StoppedClock
from service.facts import Child, Role
from service.i18n import words
from shared.vocabulary import Laterality
from tests.service.pages import forms_of, send, submit
from tests.service.typed import BOTH_EYES, TRIAL_LENS


def test_a_visit_stands_beside_what_it_was_read_as(signed_in, baby: Child) -> None:
    browser = signed_in(Role.ORTHOPTIST)
    page = browser.get(submit(browser, f"/children/{baby.public_id}/visits/new", **TRIAL_LENS).headers["location"]).text
    # 30 cycles/degree is 0.0 logMAR; 4.8 against 1.2 cycles/degree is a ratio of four, two octaves (the definitions)
    assert "1.2 cpd" in page and "1.40 logMAR" in page and "2.0 octaves" in page
    assert "+2.50" in page and "first time with this test" in page


def test_between_grating_and_optotype_no_difference_is_given(signed_in, baby: Child) -> None:
    browser = signed_in(Role.ORTHOPTIST)
    typed = TRIAL_LENS | {"first_right_acuity": "", "second_method": "crowded-pictures", "second_right_acuity": "6/12"}
    page = browser.get(submit(browser, f"/children/{baby.public_id}/visits/new", **typed).headers["location"]).text
    assert page.count("needs an acuity of each eye with one test") == 2


@pytest.mark.parametrize(
    ("field", "typed", "says"),
    [
        ("first_left_acuity", "0.5", "decimal"),
        ("first_left_acuity", "20/0", "20/0"),
        ("first_method", "", "Which test"),
        ("first_method", "crowded-hotv", "is not a result of"),
        ("first_left_not_testable", "yes", "please keep one"),
        ("left_over_sphere", "80", "cannot be"),
        ("left_over_axis", "200", "cannot be"),
        ("left_over_axis", "", ""),
        ("left_over_vertex_distance_mm", "120", "cannot be"),
        ("left_over_sphere", "", "needs its sphere"),
        ("left_trial_lens_dioptres", "", "belong together"),
        ("left_refraction_sphere", "18", "means nothing without its vertex distance"),
        ("on", "2025-10-01", "before the date of birth"),
        ("on", "2026-03-03", "in the future"),
    ],
)
def test_impossible_findings_are_refused_and_everything_typed_stays(signed_in, baby: Child, field: str, typed: str, says: str) -> None:
    browser = signed_in(Role.ORTHOPTIST)
    answer = submit(browser, f"/children/{baby.public_id}/visits/new", **TRIAL_LENS | {field: typed})
    assert answer.status_code == 422 and says in answer.text
    kept = next(f for f in forms_of(answer.text) if "submission_key" in f.values).values
    for name, value in (TRIAL_LENS | {field: typed}).items():
        assert kept.get(name, "") == value, name


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
    visit = submit(browser, f"/children/{sam.public_id}/visits/new", **typed).headers["location"]
    page = browser.get(visit).text
    # one octave between 13 and 6.5 c/cm whatever the distance; 80 letters are 1.7 - 80 x 0.02 = 0.10 logMAR (Gregori 2010, as read)
    assert "+1.0 octave" in page and "0.10 logMAR" in page and "+0.50 logMAR" in page and "Both eyes" in page
    again = next(f for f in forms_of(browser.get(f"{visit}/correct").text) if "version" in f.values).values
    assert {name: again[name] for name in typed} == typed
    card = submit(browser, f"/children/{sam.public_id}/visits/new", **typed | {"first_distance_cm": ""})
    assert card.status_code == 422 and "nothing without the test distance" in card.text


def test_no_rule_rests_on_a_reading_after_the_patch_or_under_cycloplegia(signed_in, sam: Child) -> None:
    browser = signed_in(Role.ORTHOPTIST)
    for condition in ("first_patched_beforehand", "first_cycloplegia"):
        visit = submit(browser, f"/children/{sam.public_id}/visits/new", **BOTH_EYES, **{condition: "yes"}).headers["location"]
        assert "no rule rests on it" in browser.get(visit).text
    assert "Not enough is known" in submit(browser, f"/children/{sam.public_id}/occlusion", step="look", adaptation_weeks="18").text


def test_a_corneal_radius_typed_for_a_power_is_caught_by_its_size(signed_in, baby: Child) -> None:
    browser = signed_in(Role.ORTHOPTIST)
    answer = submit(browser, f"/children/{baby.public_id}/visits/new", left_k1_dioptres="7.5")
    # 45.00 D is 7.50 mm (formula sheet, as read)
    assert answer.status_code == 422 and "radius in mm" in answer.text and "+45.00 D" in answer.text
    typed = {"left_k1_dioptres": "45", "left_axial_length_mm": "18.1", "left_pressure_mmhg": "14"}
    page = browser.get(submit(browser, f"/children/{baby.public_id}/visits/new", **typed).headers["location"]).text
    assert "45.00 D" in page and "18.10 mm" in page and "14 mmHg" in page


def test_every_finding_a_visit_may_ask_is_kept_shown_and_stands_in_the_form_again(signed_in, sam: Child) -> None:
    def typed(a: Asked, n: int) -> str:
        return list(a.choices)[n % len(a.choices)].value if a.choices else f"{(a.low + a.high) / 2 + n % 3:g}"

    browser = signed_in(Role.ORTHOPTIST)
    values = {f"{eye}_{a.name}": typed(a, n) for n, a in enumerate(asked(EYE_GROUPS)) for eye in Laterality}
    values |= {a.name: typed(a, n) for n, a in enumerate(asked(VISIT_GROUPS))}
    visit = submit(browser, f"/children/{sam.public_id}/visits/new", **values).headers["location"]
    page = browser.get(visit).text
    assert all(words("en").text(a.label) in page for groups in (EYE_GROUPS, VISIT_GROUPS) for a in asked(groups))
    kept = next(f for f in forms_of(browser.get(f"{visit}/correct").text) if "version" in f.values).values
    assert {name: kept[name] for name in values} == values


def test_values_that_look_exchanged_or_far_are_asked_about_and_may_stand(signed_in, sam: Child, clock: StoppedClock) -> None:
    browser = signed_in(Role.ORTHOPTIST)
    address = f"/children/{sam.public_id}/visits/new"
    assert submit(browser, address, **BOTH_EYES, on="2026-02-01").status_code == 303
    exchanged = {"first_method": "crowded-hotv", "first_right_acuity": "6/19", "first_left_acuity": "6/6"}
    asked_back = submit(browser, address, **exchanged)
    assert asked_back.status_code == 409 and "exchanged" in asked_back.text and "6/19" in asked_back.text
    form = next(f for f in forms_of(asked_back.text) if "submission_key" in f.values)
    assert send(browser, form, address, as_typed="yes").status_code == 303
    far = submit(browser, address, first_method="crowded-hotv", first_right_acuity="6/60")
    assert far.status_code == 409 and "far from the last visits" in far.text
    assert submit(browser, address, first_method="logmar-chart", first_right_acuity="6/60").status_code == 303, "another test is another series"


def test_correcting_a_visit_keeps_what_stood_before_and_tells_the_second_editor(signed_in, sam: Child) -> None:
    one, two = signed_in(Role.ORTHOPTIST), signed_in(Role.CLINICIAN)
    visit = submit(one, f"/children/{sam.public_id}/visits/new", **BOTH_EYES).headers["location"]
    of_one, of_two = (next(f for f in forms_of(b.get(f"{visit}/correct").text) if "version" in f.values) for b in (one, two))
    assert send(one, of_one, f"{visit}/correct", first_left_acuity="6/15", reason="read from the wrong line").status_code == 303
    page = one.get(visit).text
    assert "6/15" in page and "read from the wrong line" in page
    late = send(two, of_two, f"{visit}/correct", first_left_acuity="6/24", reason="retest")
    assert late.status_code == 409 and "meanwhile" in late.text and "6/24" in late.text
    assert "6/15" in two.get(visit).text
