"""The expected response as the review shows it: for staff alone, with its own hours, and with words where it refuses."""

import math
from datetime import timedelta

import pytest
from sqlalchemy import Engine
from starlette.testclient import TestClient

from schedules.feed_style import FeedStyle
from service.actions import links
from service.clock import StoppedClock
from service.db import writing
from service.facts import Child, Role
from tests.people import NOW, TODAY, TestClinic
from tests.service.pages import new_visit, note, submit
from tests.service.signing import sign_two_hours
from tests.service.test_calculations import text_of
from tests.service.test_operations import sign_operation
from tests.service.test_rules import limits
from tests.service.typed import BOTH_EYES, CARDS, TRIAL_LENS

WEEK = timedelta(weeks=1)
HEADING = "Expected response (own model)"


@pytest.fixture
def link(engine: Engine, clinic: TestClinic, sam: Child) -> links.NewLink:
    with writing(engine) as session:
        return links.issue(session, clinic.staff[Role.ORTHOPTIST], sam, caregiver="Mother", style=FeedStyle("time"), now=NOW)


@pytest.fixture
def course(signed_in, visitor: TestClient, engine: Engine, clinic: TestClinic, clock: StoppedClock, sam: Child, link: links.NewLink) -> Child:
    """6/19 against 6/6, then 2 h a day: three days noted of seven, one of them none; 6/15 a week later."""
    submit(signed_in(Role.ORTHOPTIST), new_visit(sam), **BOTH_EYES)
    sign_two_hours(engine, clinic, sam, TODAY, TODAY + 8 * WEEK)
    clock.at = NOW + WEEK
    for days, typed in ((0, {"how": "all"}), (1, {"how": "all"}), (2, {"how": "none", "reason": "refused", "correction_worn": ""})):
        assert note(visitor, f"/family/{link.page_token}?day={TODAY + timedelta(days=days)}", **typed).status_code == 303
    assert submit(signed_in(Role.ORTHOPTIST), new_visit(sam), **BOTH_EYES | {"first_left_acuity": "6/15"}).status_code == 303
    return sam


def said_on(browser: TestClient, child: Child) -> str:
    return text_of(browser.get(f"/children/{child.public_id}/review").text.split('id="expected"')[1].split("</details>\n    <div")[0])


def test_a_course_is_shown_with_its_hours_known_and_unknown_and_whose_model_it_is(signed_in, call, course: Child) -> None:
    shown = said_on(signed_in(Role.ORTHOPTIST), course)
    assert shown.startswith(">" + HEADING) or HEADING in shown
    assert "own model on published points, two of them from memory" in shown and "no promise" in shown
    # 2 × 2 h reported; the four unknown days worn like the known ones: 2 h × 7 days × (4 h of 6 h) = 9.3 h (by hand)
    assert "4 h reported; 9 h if unknown days" in shown
    # 6/19 to 6/15: log10(19/6) − log10(15/6) = 0.103 logMAR
    assert "Gain so far +0.10 logMAR" in shown and "from memory" in shown
    answer = call(Role.CLINICIAN).get(f"/api/children/{course.public_id}/review").json()["expected_response"]
    assert answer["refusal"] is None and answer["counted_from"] == str(TODAY + WEEK)
    assert [row[0] for row in answer["outlook"]["rows"]] == ["as until now", "2 h a day, really worn", "6 h a day, really worn"]
    gains = [row[1] for row in answer["outlook"]["rows"]]
    assert 0 < gains[0] < gains[1] < gains[2]
    (seen,) = answer["observed"]
    assert (seen["on"], seen["least_hours"]) == (str(TODAY + WEEK), 4) and seen["most_hours"] == pytest.approx(28 / 3)
    assert seen["gain_logmar"] == pytest.approx(math.log10(19 / 15))
    assert answer["hours_to_next_line"]["low"] < answer["hours_to_next_line"]["median"]
    assert {f["rule"] for f in answer["findings"]} >= {"own-response-model", "response-so-far", "response-pace", "response-hours-unknown"}


@pytest.mark.parametrize(
    ("typed", "words"),
    [(CARDS, "never mixed"), ({}, "No forecast before patching has begun"), (BOTH_EYES, "No forecast before patching has begun")],
    ids=["cards", "nothing", "no patch"],
)
def test_without_a_forecast_it_says_why(signed_in, call, engine: Engine, clinic: TestClinic, clock: StoppedClock, sam: Child, typed, words: str) -> None:
    if typed:
        submit(signed_in(Role.ORTHOPTIST), new_visit(sam), **typed)
    if typed is CARDS:
        sign_two_hours(engine, clinic, sam, TODAY, TODAY + 8 * WEEK)
        clock.at = NOW + WEEK
    assert words in said_on(signed_in(Role.ORTHOPTIST), sam)
    answer = call(Role.CLINICIAN).get(f"/api/children/{sam.public_id}/review").json()["expected_response"]
    assert words in answer["refusal"] and answer["outlook"] is None and answer["findings"] == []


def test_after_deprivation_there_is_none(signed_in, baby: Child) -> None:
    submit(signed_in(Role.ORTHOPTIST), new_visit(baby), **TRIAL_LENS)
    assert "No forecast after deprivation" in said_on(signed_in(Role.ORTHOPTIST), baby)


def test_a_start_measured_long_before_the_patch_is_none(signed_in, engine: Engine, clinic: TestClinic, clock: StoppedClock, sam: Child) -> None:
    """Eight weeks at most (own assumption): before that, glasses were still gaining."""
    submit(signed_in(Role.ORTHOPTIST), new_visit(sam), **BOTH_EYES)
    sign_two_hours(engine, clinic, sam, TODAY + 9 * WEEK, TODAY + 15 * WEEK)
    clock.at = NOW + 10 * WEEK
    assert "no one test has measured both eyes" in said_on(signed_in(Role.ORTHOPTIST), sam)


def test_after_squint_surgery_acuity_is_compared_anew(signed_in, call, clock: StoppedClock, course: Child) -> None:
    clock.at = NOW + 2 * WEEK
    assert sign_operation(signed_in(Role.CLINICIAN), course, operation="squint-surgery", on=str(TODAY + 2 * WEEK)).status_code == 303
    assert "no one test has measured both eyes" in said_on(signed_in(Role.ORTHOPTIST), course)


def test_hours_on_the_amblyopic_eye_are_no_dose_for_it(signed_in, course: Child) -> None:
    browser = signed_in(Role.ORTHOPTIST)
    assert submit(browser, f"/children/{course.public_id}/particulars", amblyopic_eye="right").status_code == 303
    assert "covered the amblyopic eye" in said_on(browser, course)


def test_another_test_begins_the_forecast_anew(signed_in, call, clock: StoppedClock, course: Child) -> None:
    clock.at = NOW + 2 * WEEK
    submit(signed_in(Role.ORTHOPTIST), new_visit(course), **BOTH_EYES | {"first_method": "logmar-chart", "first_left_acuity": "6/12"})
    answer = call(Role.CLINICIAN).get(f"/api/children/{course.public_id}/review").json()["expected_response"]
    assert answer["counted_from"] == str(TODAY + 2 * WEEK) and "response-other-test" in {f["rule"] for f in answer["findings"]}
    assert "response-so-far" not in {f["rule"] for f in answer["findings"]}, "a gain across two tests is none"


def test_a_clinic_may_switch_the_model_off_as_it_rests_on_memory(signed_in, call, course: Child) -> None:
    administrator = signed_in(Role.ADMINISTRATOR)
    assert limits(administrator, reason="Not yet convinced", **{"on_response-pace": ""}).status_code == 303
    answer = call(Role.CLINICIAN).get(f"/api/children/{course.public_id}/review").json()["expected_response"]
    assert answer["refusal"] is None and "response-pace" not in {f["rule"] for f in answer["findings"]}
    assert limits(administrator, reason="Not at all", **{"on_own-response-model": ""}).status_code == 303
    answer = call(Role.CLINICIAN).get(f"/api/children/{course.public_id}/review").json()["expected_response"]
    assert "switched the own model off" in answer["refusal"] and answer["outlook"] is None
    assert "switched the own model off" in said_on(signed_in(Role.ORTHOPTIST), course)


def test_it_reaches_no_family_page_feed_or_message(visitor: TestClient, engine: Engine, signed_in, course: Child, link: links.NewLink) -> None:
    """What the import contract forbids the modules, checked in what they send. Words of the forecast that nothing else says."""
    texts = [visitor.get(f"/family/{link.page_token}").text, visitor.get(f"/feed/{link.feed_token}.ics").text]
    with engine.connect() as connection:
        texts += [str(row) for row in connection.exec_driver_sql("SELECT * FROM outbox")]
    assert all(len(t) > 10 for t in texts) and HEADING in signed_in(Role.ORTHOPTIST).get(f"/children/{course.public_id}/review").text
    for word in ("own model", "Expected response", "slower", "really worn", "forecast"):
        assert [t for t in texts if word in t] == [], word
