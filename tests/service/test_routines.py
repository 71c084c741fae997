"""What is told about a child's days: kept as it was said, the newest holds, and the past stays as it was."""

import json
from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import given, settings
from pydantic import ValidationError
from sqlalchemy import Engine

from schedules.household import Household
from schedules.routine import DayOff, Journey, Routine
from service.actions import links
from service.actions import routines as actions
from service.db import reading, writing
from service.errors import ChangedMeanwhileError
from service.facts import Child, Role
from service.household_json import HouseholdTold, from_json, to_json
from service.store import routines as store
from service.views import case
from service.views.planned import planned_day
from shared.errors import ClinicalInputError
from tests.people import NOW, TODAY, TestClinic, schoolchild
from tests.schedules.days import week
from tests.service.households import told_households
from tests.service.pages import forms_of, send, submit, taking
from tests.service.signing import sign_two_hours

DAY = timedelta(days=1)
SOMEBODY = Child(0, "", 0, "", "", schoolchild().born_on, 0, schoolchild().aetiology, schoolchild().amblyopic_eye, ((TODAY, "Europe/Lisbon"),), (), 0, 0)


def enter(engine: Engine, clinic: TestClinic, child: Child, household: Household, seen: int = 0, now=NOW) -> None:
    with writing(engine) as session:
        actions.enter(session, child, household, seen, clinic.staff[Role.ORTHOPTIST], now)


def loaded(engine: Engine, child: Child, now=NOW) -> case.Case:
    with reading(engine) as session:
        return case.load(session, child, now)


def usual(child: Child) -> Household:
    return replace(store.untold(child), routine=Routine((week(TODAY),)))


@given(told_households())
@settings(max_examples=60)
def test_a_household_comes_back_from_json_as_it_was(told: HouseholdTold) -> None:
    household = told.of(SOMEBODY)
    assert from_json(json.loads(json.dumps(to_json(household))), SOMEBODY) == household


def test_json_that_is_no_household_is_refused() -> None:
    content = to_json(usual(SOMEBODY))
    day = content["routine"]["weeks"][0]["days"][0]
    for wrong in ({"colour": "red"}, {"wake_minutes": "420"}, {"wake_minutes": True}, {"day": 0.5}):
        kept = dict(day)
        day |= wrong
        with pytest.raises(ValidationError):
            from_json(content, SOMEBODY)
        day.clear()
        day |= kept
    day["wake_minutes"] = 21 * 60
    with pytest.raises(ValidationError, match="comes before waking at 21:00"):
        from_json(content, SOMEBODY)


def test_sessions_follow_the_newest_version_and_the_dose_does_not(engine: Engine, clinic: TestClinic, sam: Child) -> None:
    sign_two_hours(engine, clinic, sam, TODAY, TODAY + 28 * DAY)
    assert planned_day(loaded(engine, sam), TODAY).all_day_minutes == 120
    enter(engine, clinic, sam, usual(sam))
    late = week(TODAY + 3 * DAY, wake_minutes=9 * 60)
    enter(engine, clinic, sam, replace(usual(sam), routine=Routine((week(TODAY), late))), seen=1)
    c = loaded(engine, sam)
    for n, hour in ((2, 7), (3, 9)):
        planned = planned_day(c, TODAY + n * DAY)
        assert (planned.minutes, planned.sessions[0].start_at.hour) == (120, hour)
    assert c.told is not None and (c.told.number, c.told.entered_by, c.told.by_family) == (2, clinic.staff[Role.ORTHOPTIST].name, False)


def test_no_past_day_is_told_anew(engine: Engine, clinic: TestClinic, sam: Child) -> None:
    enter(engine, clinic, sam, usual(sam))
    later, ill = NOW + 3 * DAY, DayOff(TODAY + DAY, TODAY + 5 * DAY, "ill")
    told = usual(sam)
    for changed, first_wrong in (
        (replace(told, routine=Routine((week(TODAY, wake_minutes=480),))), TODAY),
        (replace(told, days_off=(ill,)), TODAY + DAY),
        (replace(told, journeys=(Journey(TODAY + 2 * DAY, TODAY + 9 * DAY, "Asia/Tokyo"),)), TODAY + 2 * DAY),
        (store.untold(sam), TODAY),
    ):
        with pytest.raises(ClinicalInputError) as refused:
            enter(engine, clinic, sam, changed, 1, later)
        assert refused.value.field == "on" and refused.value.message.params["on"] == first_wrong
    enter(engine, clinic, sam, replace(told, days_off=(DayOff(TODAY + 3 * DAY, TODAY + 5 * DAY, "ill"),)), 1, later)
    assert planned_day(loaded(engine, sam, later), TODAY + 4 * DAY).minutes == 0
    # an illness that is over sooner is cut short, though it began before today
    enter(engine, clinic, sam, replace(told, days_off=(DayOff(TODAY + 3 * DAY, TODAY + 3 * DAY, "ill"),)), 2, later + DAY)
    assert not loaded(engine, sam, later).household.resolve(TODAY + 4 * DAY).off


def test_who_saw_an_older_version_overwrites_nothing(engine: Engine, clinic: TestClinic, sam: Child) -> None:
    enter(engine, clinic, sam, usual(sam))
    with pytest.raises(ChangedMeanwhileError):
        enter(engine, clinic, sam, store.untold(sam))
    assert loaded(engine, sam).household == usual(sam)


def typed(**lines: str) -> dict[str, str]:
    """Days from seven to eight with a nap; Saturday and Sunday begin at nine."""
    usual_lines = {"wake_minutes": "7", "sleep_minutes": "20:00", "naps": "13-14"} | lines
    return {f"d1_{name}": text for name, text in usual_lines.items()} | {f"d2_{name}": text for name, text in (usual_lines | {"wake_minutes": "9.00"}).items()}


def routine_address(child: Child) -> str:
    return f"/children/{child.public_id}/routine"


def test_a_week_is_tried_without_a_trace_and_then_saved(signed_in, engine: Engine, clinic: TestClinic, sam: Child) -> None:
    sign_two_hours(engine, clinic, sam, TODAY, TODAY + 28 * DAY)
    browser = signed_in(Role.ORTHOPTIST)
    form = taking(browser.get(routine_address(sam)).text, "week_first_on")
    tried = send(browser, form, "", **typed(), step="try")
    assert tried.status_code == 200 and "Tried, not saved" in tried.text and "07:00–09:00" in tried.text and "09:00–11:00" in tried.text
    assert loaded(engine, sam).told is None
    saved = send(browser, taking(tried.text, "week_first_on"), "", step="save")
    assert saved.status_code == 303
    assert [planned_day(loaded(engine, sam), TODAY + n * DAY).sessions[0].start_at.hour for n in range(7)] == [7, 7, 7, 7, 7, 9, 9]
    page = browser.get(saved.headers["location"]).text
    assert taking(page, "week_first_on").values["d2_wake_minutes"] == "09:00" and "Version 1" in page
    assert send(browser, taking(tried.text, "week_first_on"), "", step="save").status_code == 303, "two taps"
    told = loaded(engine, sam).told
    assert told is not None and told.number == 1


def test_a_day_that_cannot_hold_the_dose_says_so_on_the_page_and_never_plans_less_in_silence(signed_in, engine, clinic, sam) -> None:
    sign_two_hours(engine, clinic, sam, TODAY, TODAY + 28 * DAY)
    browser = signed_in(Role.ORTHOPTIST)
    form = taking(browser.get(routine_address(sam)).text, "week_first_on")
    short = typed(nursery_closed="8-19", naps="", gap_before_bed_minutes="0")
    page = send(browser, form, "", **short | {"d2_wake_minutes": "7"}, step="try").text
    assert "holds 120 min" not in page and "do not fit" not in page, "an hour before and an hour after"
    page = send(browser, form, "", **short | {"d2_wake_minutes": "7"}, d1_most_sessions="1", step="try").text
    assert page.count("60 min do not fit into the day") == 5 and "day-too-short" in page and 'class="short"' in page
    page = send(browser, form, "", **short | {"d2_wake_minutes": "7"}, d1_most_sessions="1", tried_hours="1", step="try").text
    assert "do not fit" not in page


@pytest.mark.parametrize(
    ("wrong", "field", "said"),
    [
        ({"d1_sleep_minutes": "6"}, "d1_sleep_minutes", "comes before waking at 07:00"),
        ({"d1_naps": "21-22"}, "d1_naps", "lies outside the day"),
        ({"d1_naps": "after lunch"}, "d1_naps", "is no window of time"),
        ({"d1_naps": "13-14:75"}, "d1_naps", "is no time"),
        ({"d1_naps": "13-14 in the car"}, "d1_naps", "is no time"),
        ({"d1_nursery_patches": "8-12", "d1_nursery_closed": "11-15"}, "d1_nursery_patches", "overlap"),
        ({"d1_activities": "13:30-15 swimming"}, "d1_activities", "overlap"),
        ({"d1_wake_minutes": "7:03"}, "d1_wake_minutes", "in steps of five minutes"),
        ({"d1_most_sessions": "40"}, "d1_most_sessions", "Give 1 to 12"),
        ({"d1_awake_stretches": "90, 90"}, "d1_awake_stretches", "not both"),
        ({"d1_on_2": ""}, "d1_on_0", "not ticked anywhere"),
        ({"d2_on_2": "yes"}, "d2_on_0", "ticked twice"),
        ({"week_first_on": "2026-03-01"}, "week_first_on", "is past and stays as it was"),
        ({"week_first_on": "soon"}, "week_first_on", "is not a date"),
        ({"tried_hours": "40"}, "tried_hours", "cannot be"),
    ],
)
@pytest.mark.parametrize("step", ["try", "save"])
def test_what_cannot_be_is_told_where_it_stands(signed_in, engine, sam, step: str, wrong: dict[str, str], field: str, said: str) -> None:
    browser = signed_in(Role.ORTHOPTIST)
    answer = send(browser, taking(browser.get(routine_address(sam)).text, "week_first_on"), "", **typed() | wrong, step=step)
    assert answer.status_code == 422 and f'href="#{field}"' in answer.text and said in answer.text
    assert loaded(engine, sam).told is None


def test_two_who_edit_at_once_do_not_overwrite_each_other(signed_in, engine, sam) -> None:
    one, other = signed_in(Role.ORTHOPTIST), signed_in(Role.RECEPTION)
    forms = [taking(browser.get(routine_address(sam)).text, "week_first_on") for browser in (one, other)]
    assert send(one, forms[0], "", **typed(), step="save").status_code == 303
    late = send(other, forms[1], "", **typed(wake_minutes="8"), step="save")
    assert late.status_code == 409 and "Somebody else" in late.text
    assert loaded(engine, sam).household.routine.weeks[0].days[0].wake_minutes == 7 * 60
    assert send(other, taking(late.text, "week_first_on"), "", step="save").status_code == 303
    assert loaded(engine, sam).household.routine.weeks[0].days[0].wake_minutes == 8 * 60


def test_days_off_holidays_and_journeys_are_entered_and_taken_out(signed_in, engine, clinic, sam, clock) -> None:
    sign_two_hours(engine, clinic, sam, TODAY, TODAY + 28 * DAY)
    browser, address = signed_in(Role.ORTHOPTIST), routine_address(sam)
    submit(browser, address, "week_first_on", **typed(), step="save")
    for having, lines in (
        ("day-off_first_on", {"day-off_first_on": "2026-03-03", "day-off_last_on": "2026-03-05", "day-off_words": "ill"}),
        ("journey_first_on", {"journey_first_on": "2026-03-06", "journey_zone": "Asia/Tokyo"}),
        ("holiday_first_on", {"holiday_first_on": "2026-03-09", "holiday_last_on": "2026-03-20", "holiday_wake_minutes": "10", "holiday_sleep_minutes": "22"}),
    ):
        answer = submit(browser, address, having, **lines, step="save")
        assert answer.status_code == 303, answer.text
    c = loaded(engine, sam)
    assert [planned_day(c, TODAY + n * DAY).minutes for n in range(5)] == [120, 0, 0, 0, 120]
    assert str(planned_day(c, TODAY + 4 * DAY).sessions[0].start_at) == "2026-03-06 07:00:00+09:00"
    assert planned_day(c, TODAY + 8 * DAY).sessions[0].start_at.hour == 10
    clock.at = NOW + 2 * DAY
    item = next(f for f in forms_of(browser.get(address).text) if f.values.get("item") == "days_off:2026-03-03")
    assert send(browser, item, "").status_code == 303
    c = loaded(engine, sam, NOW + 2 * DAY)
    assert [planned_day(c, TODAY + n * DAY).minutes for n in range(4)] == [120, 0, 120, 120], "the day that is past stays off"
    for lines, said in (
        ({"journey_first_on": "2026-03-12", "journey_zone": "Moon/Base"}, "is no time zone"),
        ({"journey_first_on": "2026-03-12", "journey_last_on": "2026-03-11", "journey_zone": "Asia/Tokyo"}, "lies before the first"),
        ({"journey_first_on": "2026-03-06", "journey_zone": "Asia/Tokyo", "journey_last_on": "2026-03-08"}, "has begun before"),
    ):
        answer = submit(browser, address, "journey_first_on", **lines)
        assert answer.status_code == 422 and said in answer.text
    answer = submit(browser, address, "day-off_first_on", **{"day-off_first_on": "2026-03-03"})
    assert answer.status_code == 422 and "is past" in answer.text


def test_two_homes_take_turns_each_with_its_own_days(signed_in, engine, clinic, sam) -> None:
    sign_two_hours(engine, clinic, sam, TODAY, TODAY + 28 * DAY)
    with writing(engine) as session:
        staff = clinic.staff[Role.RECEPTION]
        one, other = (
            links.issue(session, staff, sam, caregiver=name, label="time", alarm_minutes=None, now=NOW).subscription.public_id for name in ("mother", "father")
        )
    browser, address = signed_in(Role.ORTHOPTIST), routine_address(sam)
    submit(browser, address, "week_first_on", **typed(), step="save")
    who = {f"rotation_{n}": one if n < 5 else other for n in range(7)}
    assert submit(browser, address, "rotation_first_on", rotation_first_on="2026-03-04", **who).status_code == 303
    late = dict.fromkeys(("d1_wake_minutes", "d2_wake_minutes"), "10")
    assert submit(browser, f"{address}?home={other}", "week_first_on", **typed() | late, step="save").status_code == 303
    assert submit(browser, address, "swap_first_on", swap_first_on="2026-03-05", swap_caregiver=other).status_code == 303
    c = loaded(engine, sam)
    assert [planned_day(c, TODAY + n * DAY).sessions[0].start_at.hour for n in range(9)] == [7, 7, 7, 10, 7, 10, 10, 7, 7]
    assert browser.get(f"{address}?home=unknown").status_code == 404
    half = submit(browser, address, "rotation_first_on", rotation_first_on="2026-03-09", rotation_7=one)
    assert half.status_code == 422 and "one week, or both" in half.text


def test_a_family_tells_its_days_and_no_more(visitor, signed_in, engine, clinic, sam) -> None:
    sign_two_hours(engine, clinic, sam, TODAY, TODAY + 28 * DAY)
    address = routine_address(sam)
    submit(signed_in(Role.ORTHOPTIST), address, "week_first_on", **typed(preferred="17-19"), step="save")
    with writing(engine) as session:
        link = links.issue(session, clinic.staff[Role.RECEPTION], sam, caregiver="father", label="time", alarm_minutes=None, now=NOW)
    own = f"/family/{link.page_token}/routine"
    page = visitor.get(own).text
    assert "Sam" not in page and "17:00–19:00" in page and "d1_preferred" not in page and "tried_hours" not in page
    looked = submit(visitor, own, "week_first_on", d1_sleep_minutes="19:00", d1_gap_before_bed_minutes="0", step="try")
    assert looked.status_code == 200 and "Not saved yet" in looked.text
    assert submit(visitor, own, "week_first_on", d1_nursery_patches="16-18", d2_sleep_minutes="21", step="save").status_code == 303
    c = loaded(engine, sam)
    assert c.told is not None and (c.told.number, c.told.by_family, c.told.entered_by) == (2, True, "father")
    assert planned_day(c, TODAY).minutes == 120 and c.household.routine.weeks[0].days[0].preferred, "what the family is not asked stays"
    assert submit(visitor, own, "day-off_first_on", **{"day-off_first_on": "2026-03-05"}).status_code == 303
    assert planned_day(loaded(engine, sam), TODAY + 3 * DAY).minutes == 0
    past = submit(visitor, own, "day-off_first_on", **{"day-off_first_on": "2026-03-01"})
    assert past.status_code == 422 and "is past" in past.text
    rotation = submit(visitor, own, "day-off_first_on", part="rotation", rotation_first_on="2026-03-05")
    assert rotation.status_code == 403
    with writing(engine) as session:
        links.revoke(session, clinic.staff[Role.RECEPTION], sam, link.subscription.public_id, NOW)
    assert visitor.get(own).status_code == 404


def test_another_clinic_and_another_family_find_nothing(signed_in, visitor, sam, other_clinic) -> None:
    assert signed_in(Role.ORTHOPTIST, other_clinic).get(routine_address(sam)).status_code == 404
    assert visitor.get(routine_address(sam)).status_code == 303
    assert visitor.get("/family/p_unknown/routine").status_code == 404
