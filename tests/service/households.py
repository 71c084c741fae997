"""Invented households."""

from datetime import date, timedelta

from hypothesis import strategies as st

from schedules.day import AwakeDay, ClockDay, Weekday
from schedules.household import Home, Rotation, Swap
from schedules.routine import DayOff, Holiday, Journey, Routine, Week
from service.household_json import HouseholdTold
from tests.schedules.days import days

FROM = date(2026, 3, 2)
WORDS = st.text(st.characters(exclude_categories=("Cs", "Cc")), max_size=20)


@st.composite
def _day(draw: st.DrawFn, day: Weekday | date) -> ClockDay | AwakeDay:
    if draw(st.booleans()):
        return AwakeDay(day, tuple(draw(st.lists(st.integers(5, 240), min_size=1, max_size=4))))
    return ClockDay(**vars(draw(days())) | {"day": day})


@st.composite
def routines(draw: st.DrawFn) -> Routine:
    starts = sorted(draw(st.sets(st.integers(0, 60), max_size=2)))
    weeks = tuple(Week(FROM + timedelta(days=n), tuple(draw(_day(day)) for day in Weekday), draw(st.booleans())) for n in starts)
    first_on = FROM + timedelta(days=draw(st.integers(0, 60)))
    one = draw(st.booleans())
    names = [first_on] if one else sorted(draw(st.sets(st.sampled_from(Weekday), min_size=1)))
    holiday = Holiday(first_on, first_on + timedelta(days=draw(st.integers(0, 9))), tuple(draw(_day(name)) for name in names))
    return Routine(weeks, (holiday,) if draw(st.booleans()) else ())


@st.composite
def told_households(draw: st.DrawFn) -> HouseholdTold:
    first_on = FROM + timedelta(days=draw(st.integers(0, 60)))
    last_on = first_on + timedelta(days=draw(st.integers(0, 9)))
    homes = (Home("a", draw(st.none() | routines())), Home("b")) if draw(st.booleans()) else ()
    caregivers = st.sampled_from([home.caregiver for home in homes] or ["a"])
    return HouseholdTold(
        draw(routines()),
        homes,
        (Rotation(first_on, tuple(draw(caregivers) for _ in range(draw(st.sampled_from([7, 14]))))),) if homes else (),
        (Swap(first_on, draw(caregivers)),) if homes else (),
        (DayOff(first_on, last_on, draw(WORDS)),) if draw(st.booleans()) else (),
        (Journey(first_on, last_on, draw(st.sampled_from(["Asia/Tokyo", "America/St_Johns"]))),) if draw(st.booleans()) else (),
    )
