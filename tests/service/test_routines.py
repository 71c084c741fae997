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
