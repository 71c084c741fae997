"""What was told of a household comes back as it was told: from JSON, and from what a person types."""

import json
from dataclasses import replace
from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from schedules.day import AwakeDay, ClockDay, Weekday
from schedules.household import Home, Household, Move, Rotation, Swap
from schedules.routine import Day, DayOff, Holiday, Journey, Routine, Week
from service.day_typed import read_day, values_of
from service.facts import Child
from service.forms import Form
from service.i18n import words
from service.store.households import from_json, to_json
from shared.vocabulary import Aetiology, AmblyopicEye
from tests.schedules.days import MONDAY, days

CHILD = Child(
    1, "c", 1, "T-1", "Sam", date(2021, 1, 15), 0, Aetiology.ANISOMETROPIC, AmblyopicEye.LEFT, ((date(2021, 1, 15), "UTC"), (MONDAY, "Asia/Tokyo")), (), 1, 1
)
WORDS = st.text(st.characters(codec="utf-8", exclude_categories=["Cc", "Cs", "Zs", "Zl", "Zp"], exclude_characters=";"), min_size=1, max_size=20)
DATES = st.dates(date(1970, 1, 1), date(2199, 1, 1))
STRETCHES = st.lists(st.integers(5, 100), min_size=1, max_size=12).map(tuple)


@st.composite
def worded(draw: st.DrawFn) -> ClockDay:
    """A day with any words for what is unwelcome and what is done."""
    day = draw(days())
    named = {name: tuple(replace(w, words=draw(WORDS)) for w in getattr(day, name)) for name in ("activities", "unwelcome")}
    return replace(day, **named)


@st.composite
def households(draw: st.DrawFn) -> Household:
    def of_day(day: Weekday | date) -> Day:
        return replace(draw(worded()), day=day) if draw(st.booleans()) else AwakeDay(day, draw(STRETCHES))

    def routine() -> Routine:
        starts = sorted(draw(st.sets(DATES, max_size=2)))
        first_on = draw(DATES)
        by_weekday = draw(st.booleans())
        holiday = Holiday(first_on, first_on + timedelta(days=9), (of_day(Weekday.FRIDAY if by_weekday else first_on),))
        return Routine(tuple(Week(on, tuple(map(of_day, Weekday)), draw(st.booleans())) for on in starts), (holiday,))

    return Household(
        CHILD.born_on,
        "UTC",
        routine(),
        homes=(Home("a"), Home("b", routine())),
        rotations=(Rotation(draw(DATES), tuple(draw(st.lists(st.sampled_from("ab"), min_size=14, max_size=14)))),),
        swaps=(Swap(draw(DATES), "b"),),
        days_off=tuple(DayOff(on, on, draw(WORDS)) for on in draw(st.lists(DATES, max_size=2))),
        journeys=(Journey(first_on := draw(DATES), first_on, "Europe/Lisbon"),),
        moves=(Move(MONDAY, "Asia/Tokyo"),),
    )


@given(households())
def test_json_gives_back_the_household_that_was_told(household: Household) -> None:
    assert from_json(json.loads(json.dumps(to_json(household))), CHILD) == household


@given(worded() | STRETCHES.map(lambda awake: AwakeDay(Weekday.SUNDAY, awake)))
def test_a_form_gives_back_the_day_it_was_filled_from(day: Day) -> None:
    form = Form(words("en"), values={name: typed.strip() for name, typed in values_of(day).items()})
    found = read_day(form, Weekday(day.day))
    assert form.errors == {}
    assert _in_order(found) == _in_order(day)


def _in_order(day: Day | None) -> Day | None:
    """Windows by their start: how a family lists them says nothing."""
    if not isinstance(day, ClockDay):
        return day
    return replace(day, nursery=tuple(sorted(day.nursery, key=lambda stay: stay.start_minutes)))
