"""On which days a signed plan holds, and which eye it covers: past a review that slips, on chosen weekdays, and both eyes in turn."""

from datetime import date, timedelta

import pytest
from sqlalchemy import Engine

from schedules.feed_style import FeedStyle
from service.actions import links
from service.clock import StoppedClock
from service.db import reading, writing
from service.facts import Child, Role, SignedRegimen
from service.store import signed
from tests.people import NOW, TODAY, TestClinic
from tests.service.pages import forms_of, send, submit, taking

OWN = {"dose": "own", "own_hours": "2", "own_reason": "our protocol", "review_on": "2026-03-30"}


def plan_of(engine: Engine, child: Child) -> SignedRegimen:
    with reading(engine) as session:
        return signed.regimens(session, child)[-1]


def sign(browser, child: Child, **typed: str) -> None:
    """Looked at as it would be signed, and signed."""
    address = f"/children/{child.public_id}/occlusion"
    seen = submit(browser, address, step="look", **OWN | typed)
    assert seen.status_code == 200, seen.text
    assert send(browser, next(f for f in forms_of(seen.text) if "seen" in f.values), address, step="sign", cautions_read="on").status_code == 303


def family_link(engine: Engine, clinic: TestClinic, child: Child) -> links.NewLink:
    with writing(engine) as session:
        return links.issue(session, clinic.staff[Role.ORTHOPTIST], child, caregiver="Mother", style=FeedStyle("time"), now=NOW)


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"grace_days": "15"}, "between 0 and 14 days"),
        ({"grace_days": "-1"}, "between 0 and 14 days"),
        ({"grace_days": "8", "own_hours": "3"}, "more than the 7 of this plan"),
        ({"grace_days": "4", "own_hours": "7"}, "more than the 3 of this plan"),
        ({"grace_days": "1", "own_hours": "11", "waking_hours": "12"}, "all waking hours, or all but one, are never carried on unseen"),
    ],
)
def test_a_grace_is_refused_beyond_what_hours_and_age_allow(signed_in, sam: Child, typed: dict[str, str], words: str) -> None:
    refused = submit(signed_in(Role.ORTHOPTIST), f"/children/{sam.public_id}/occlusion", step="look", **OWN | typed)
    assert refused.status_code == 422 and words in refused.text
    assert f'value="{typed["grace_days"]}"' in refused.text, "what was typed stays"


def test_an_infant_is_carried_on_for_three_days_at_most(signed_in, baby: Child, engine: Engine) -> None:
    address = f"/children/{baby.public_id}/occlusion"
    assert "at most" in submit(signed_in(Role.ORTHOPTIST), address, step="look").text.lower()
    refused = submit(signed_in(Role.ORTHOPTIST), address, step="look", grace_days="4")
    assert refused.status_code == 422 and "more than the 3 of this plan" in refused.text
    sign(signed_in(Role.ORTHOPTIST), baby, dose="proposed", own_hours="", own_reason="", grace_days="3")
    r = plan_of(engine, baby).regimen
    assert [r.minutes_on(date(2026, 3, 29)), r.minutes_on(date(2026, 4, 1)), r.minutes_on(date(2026, 4, 2))] == [300, 300, 0]


def test_a_review_that_slips_leaves_the_patch_for_the_days_signed_and_everybody_is_told(
    signed_in, visitor, sam: Child, clinic: TestClinic, engine: Engine, clock: StoppedClock
) -> None:
    sign(signed_in(Role.ORTHOPTIST), sam, grace_days="7")
    link = family_link(engine, clinic, sam)
    assert "up to and including" in visitor.get(f"/family/{link.page_token}").text
    near, overdue, over = date(2026, 3, 28), date(2026, 4, 3), date(2026, 4, 6)
    for on, patch, said in (
        (near, True, "should it slip, the plan ends on 6 Apr 2026"),
        (overdue, True, "The review was due on 30 Mar 2026. The plan goes on as signed for a visit that slips, and ends on 6 Apr 2026."),
        (over, False, "The plan ended on 6 Apr 2026"),
    ):
        clock.at = NOW + (on - TODAY)
        assert ("2 hours" in visitor.get(f"/family/{link.page_token}").text) is patch
        assert said in signed_in(Role.ORTHOPTIST).get(f"/children/{sam.public_id}/review").text
    feed = visitor.get(f"/feed/{link.feed_token}/plan.ics").text
    assert "DTSTART;VALUE=DATE:20260405" in feed and "DTSTART;VALUE=DATE:20260407" not in feed


def test_days_signed_past_the_review_count_against_a_telephone_extension(signed_in, sam: Child, engine: Engine, clock: StoppedClock) -> None:
    sign(signed_in(Role.ORTHOPTIST), sam, grace_days="10")
    clock.at = NOW + timedelta(days=30)
    address = f"/children/{sam.public_id}/review"
    typed = {"step": "extend", "extend_reason": "snow; spoke with the mother"}
    refused = submit(signed_in(Role.ORTHOPTIST), address, "extend_to", **typed, extend_to="2026-04-14")
    assert refused.status_code == 422 and "between 10 Apr 2026 and 13 Apr 2026" in refused.text
    assert submit(signed_in(Role.ORTHOPTIST), address, "extend_to", **typed, extend_to="2026-04-13").status_code == 303
    assert plan_of(engine, sam).regimen.grace_days == 0


def test_a_break_keeps_the_grace_and_the_turns(signed_in, sam: Child, engine: Engine) -> None:
    sign(signed_in(Role.ORTHOPTIST), sam, grace_days="7", turn_days="3", covered_reason="equal now", covered_confirmed="on")
    typed = {"step": "break", "from_on": "2026-03-04", "until_on": "2026-03-10", "break_reason": "chickenpox"}
    assert submit(signed_in(Role.ORTHOPTIST), f"/children/{sam.public_id}/review", "from_on", **typed).status_code == 303
    r = plan_of(engine, sam).regimen
    assert (r.number, r.grace_days, r.turn_days) == (2, 7, 3)


def test_a_dose_on_chosen_weekdays(signed_in, visitor, sam: Child, clinic: TestClinic, engine: Engine) -> None:
    browser = signed_in(Role.ORTHOPTIST)
    both = submit(browser, f"/children/{sam.public_id}/occlusion", step="look", **OWN, own_pattern="weekend", weekday_0="yes")
    assert both.status_code == 422 and "not both" in both.text
    sign(browser, sam, weekday_1="yes", weekday_3="yes")
    r = plan_of(engine, sam).regimen
    assert {(TODAY + timedelta(days=n)).weekday() for n in range(28) if r.minutes_on(TODAY + timedelta(days=n))} == {1, 3}
    assert "2 h (on Tuesday, Thursday)" in browser.get(f"/children/{sam.public_id}/review").text
    feed = visitor.get(f"/feed/{family_link(engine, clinic, sam).feed_token}/plan.ics").text
    assert "DTSTART;VALUE=DATE:20260303" in feed and "DTSTART;VALUE=DATE:20260304" not in feed
    again = taking(browser.get(f"/children/{sam.public_id}/occlusion?decision=continue").text, "own_hours")
    assert again.values.get("weekday_1") == "yes" and "weekday_0" not in again.values


def test_both_eyes_in_turn_need_their_reason_and_each_day_says_its_eye(
    signed_in, visitor, sam: Child, clinic: TestClinic, engine: Engine, clock: StoppedClock
) -> None:
    browser, address = signed_in(Role.ORTHOPTIST), f"/children/{sam.public_id}/occlusion"
    asked = submit(browser, address, step="look", **OWN, turn_days="1")
    assert asked.status_code == 422 and "please say why" in asked.text, "on every other day it covers the amblyopic eye"
    sign(browser, sam, turn_days="1", covered_reason="equal now", covered_confirmed="on")
    link = family_link(engine, clinic, sam)
    for days, eye in ((0, "RIGHT"), (1, "LEFT"), (2, "RIGHT")):
        clock.at = NOW + timedelta(days=days)
        page = visitor.get(f"/family/{link.page_token}").text
        assert f"<strong>{eye}</strong>" in page and "The eye changes from day to day" in page
        assert f"the child's {eye.lower()} eye is covered" in (staff := signed_in(Role.ORTHOPTIST).get(f"/children/{sam.public_id}").text).replace("&#39;", "'")
        assert "one day the right eye covered, the next the left eye" in staff
    assert "they are not told apart" in signed_in(Role.ORTHOPTIST).get(f"/children/{sam.public_id}/review").text


def test_the_api_signs_the_same_days(call, sam: Child) -> None:
    order = {
        "phase": "occlusion",
        "start_on": str(TODAY),
        "review_on": "2026-03-30",
        "covered_eye": "right",
        "missing_correction": "hold-and-ring",
        "own_minutes": 120,
        "own_reason": "our protocol",
        "own_weekdays": [1, 3],
        "grace_days": 7,
        "turn_days": 2,
        "covered_reason": "equal now",
        "covered_confirmed": True,
    }
    api, address = call(Role.ORTHOPTIST), f"/api/children/{sam.public_id}/regimen-preview"
    regimen = api.post(address, json=order).json()["regimen"]
    assert (regimen["ends_on"], regimen["turn_days"], regimen["doses"][0]["weekdays"]) == ("2026-04-06", 2, [1, 3])
    for change, field in (
        ({"grace_days": 15}, "grace_days"),
        ({"own_weekdays": [3, 1]}, "own_weekdays"),
        ({"own_minutes": 200, "grace_days": 8}, "grace_days"),
    ):
        refused = api.post(address, json=order | change)
        assert refused.status_code == 422 and refused.json()["field"] == field
