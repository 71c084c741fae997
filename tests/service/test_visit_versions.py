"""A visit that is corrected: what stood before stays to be read, and of two people who edit it the second is told."""

import re
from datetime import timedelta

from service.clock import StoppedClock
from service.facts import Child, Role
from tests.service.pages import new_visit, row_of, send, submit, taking
from tests.service.typed import BOTH_EYES


def test_of_two_who_correct_a_visit_the_second_is_told_and_nothing_is_overwritten(signed_in, sam: Child) -> None:
    one, two = signed_in(Role.ORTHOPTIST), signed_in(Role.CLINICIAN)
    visit = submit(one, new_visit(sam), **BOTH_EYES).headers["location"]
    of_one, of_two = (taking(b.get(f"{visit}/correct").text, "version") for b in (one, two))
    first = {"first_left_acuity": "6/15", "right_pressure_mmhg": "12", "reason": "read from the wrong line"}
    assert send(one, of_one, f"{visit}/correct", **first).status_code == 303
    late = send(two, of_two, f"{visit}/correct", first_left_acuity="6/24", left_pressure_mmhg="14", reason="retest")
    assert late.status_code == 409 and "orthoptist of one has corrected this visit meanwhile" in late.text
    assert row_of(late.text, "First test, Left eye: As measured") == ["6/19", "6/15"], "what the first one changed"
    kept = taking(late.text, "version")
    assert (kept.values["first_left_acuity"], kept.values["left_pressure_mmhg"], kept.values["reason"]) == ("6/24", "14", "retest"), "what the second typed"
    page = two.get(visit).text
    assert "6/15" in page and "6/24" not in page and "14 mmHg" not in page
    assert send(two, kept, f"{visit}/correct").status_code == 303, "having seen it, the second may go on"
    page = two.get(visit).text
    assert row_of(page, "Pressure") == ["12 mmHg", "14 mmHg"], "what only the first one changed stays"
    assert "6/24" in page


def test_a_corrected_visit_shows_field_by_field_what_stood_before_and_who_changed_it_when_and_why(signed_in, sam: Child, clock: StoppedClock) -> None:
    browser, colleague = signed_in(Role.ORTHOPTIST), signed_in(Role.CLINICIAN)
    visit = submit(browser, new_visit(sam), **BOTH_EYES, on="2026-03-01", left_refraction_sphere="+3.00", left_red_reflex="clear").headers["location"]
    assert "What stood before" not in browser.get(visit).text
    clock.at += timedelta(hours=1)
    first = {"on": "2026-02-28", "first_left_acuity": "6/15", "first_tested_first": "right", "reason": "wrong day"}
    second = {"left_refraction_sphere": "+3.50", "left_red_reflex": "", "stereo_test": "real-depth-plates", "tester": "Ines", "reason": "read again"}
    for changed in (first, second):
        form = taking(colleague.get(f"{visit}/correct").text, "version")
        assert send(colleague, form, f"{visit}/correct", **changed).status_code == 303
    page = browser.get(visit).text
    assert row_of(page, "Date of the visit") == ["1 Mar 2026", "28 Feb 2026"]
    assert row_of(page, "First test, Left eye: As measured") == ["6/19", "6/15"]
    assert row_of(page, "First test: Tested first") == ["–", "right"]
    assert row_of(page, "Left eye: Refraction") == ["+3.00 D sphere, net", "+3.50 D sphere, net"]
    assert row_of(page, "Left eye: Red reflex") == ["clear", "–"]
    assert row_of(page, "Stereoacuity by") == ["–", "real-depth plates"]
    assert row_of(page, "Examined by") == ["orthoptist of one", "Ines"]
    assert "First test, Right eye" not in page, "what did not change is not listed"
    for number, reason in ((2, "wrong day"), (3, "read again")):
        assert f"Version {number}, by clinician of one, 2 Mar 2026, 10:00: {reason}" in page
    assert "28 Feb 2026" in browser.get(f"/children/{sam.public_id}").text


def test_a_visit_that_is_moved_to_another_day_stands_in_its_new_place(signed_in, sam: Child) -> None:
    browser = signed_in(Role.ORTHOPTIST)
    assert submit(browser, new_visit(sam), **BOTH_EYES, on="2026-02-10").status_code == 303
    visit = submit(browser, new_visit(sam), **BOTH_EYES, on="2026-03-01").headers["location"]
    form = taking(browser.get(f"{visit}/correct").text, "version")
    assert send(browser, form, f"{visit}/correct", on="2026-01-20", reason="wrong month").status_code == 303
    page = browser.get(f"/children/{sam.public_id}").text
    assert re.findall(r'/visits/[\w-]+"><bdi>([^<]+)', page) == ["10 Feb 2026", "20 Jan 2026"], "the newest first"
