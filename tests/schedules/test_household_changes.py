"""A household as somebody changes it: what lies before today is never touched, and what is kept comes back as it was told."""

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from schedules.day import AwakeDay, ClockDay, Weekday
from schedules.household import Home, Household, Move, Rotation, Swap, days_off_ahead
from schedules.household_changes import check_change, ended, routine_of, with_days, with_holiday, with_rotation, with_routine, with_swap
from schedules.routine import Day, DayOff, Journey, Routine
from shared.errors import ClinicalInputError
from shared.findings import Weight
from tests.schedules.days import MONDAY, clock_day, days, week
from tests.shared.messages import check

BORN_ON = date(2022, 1, 1)
TODAY = MONDAY + timedelta(days=10)
ALL = list(Weekday)
LATE = clock_day(wake_minutes=480)


def on(n: int) -> date:
    return MONDAY + timedelta(days=n)


def late(weekday: Weekday, _: Day | None) -> Day:
    return replace(LATE, day=weekday)


def home(**changed: object) -> Household:
    told: dict[str, object] = {"routine": Routine((week(),))}
    return Household(BORN_ON, "Europe/Lisbon", **told | changed)  # type: ignore[arg-type]


def wakes(household: Household, first: int = 0, last: int = 28) -> list[int | None]:
    found = (household.resolve(on(n)).day for n in range(first, last))
    return [day.wake_minutes if isinstance(day, ClockDay) else None for day in found]


def refused(change: object, field: str) -> None:
    with pytest.raises(ClinicalInputError) as error:
        change()  # type: ignore[operator]
    assert error.value.field == field
    check(error.value.message)


def test_some_weekdays_change_from_a_date_on_and_a_week_that_begins_later_still_begins() -> None:
    later = with_days(Routine((week(),)), on(14), ALL, lambda w, _: clock_day(w, wake_minutes=300))
    changed = with_days(later, on(8), [Weekday.MONDAY, Weekday.TUESDAY], late)
    assert wakes(home(routine=changed), 7, 23) == [420, 480] + [420] * 5 + [300] * 9
    again = with_days(changed, on(8), [Weekday.TUESDAY], lambda w, before: replace(before or LATE, day=w, wake_minutes=450))
    assert wakes(home(routine=again), 7, 9) == [420, 450], "of one date the last word holds"
    refused(lambda: with_days(Routine(()), on(8), ALL[:6], late), "weekdays")


def test_whether_an_infant_goes_by_the_clock_stays_unless_it_is_said() -> None:
    by_clock = with_days(Routine(()), on(0), ALL, late, clock_for_infant=True)
    assert with_days(by_clock, on(3), ALL[:1], late).weeks[-1].clock_for_infant
    assert not with_days(by_clock, on(3), ALL[:1], late, clock_for_infant=False).weeks[-1].clock_for_infant


def test_a_holiday_told_twice_for_its_dates_holds_all_that_was_told() -> None:
    one = with_holiday(Routine((week(),)), on(14), on(27), [Weekday.SATURDAY], late)
    both = with_holiday(one, on(14), on(27), [Weekday.SUNDAY], lambda w, before: replace(before or LATE, day=w, wake_minutes=500))
    assert wakes(home(routine=both), 14) == ([420] * 5 + [480, 500]) * 2 and len(both.holidays) == 1
    whole = replace(one, holidays=(replace(one.holidays[0], days=(AwakeDay(on(14), (100,)),)),))
    mixed = with_holiday(whole, on(14), on(27), [Weekday.MONDAY], late)
    assert wakes(home(routine=mixed), 14) == ([480] + [None] * 6) * 2, "what stood for the whole range stays on its other days"


def test_homes_by_turns_are_made_with_the_turns_and_a_swap_is_for_one_date() -> None:
    fortnight = with_rotation(home(), Rotation(on(7), ("a",) * 7 + ("b",) * 7))
    own = with_routine(fortnight, "b", Routine((week(wake_minutes=600),)))
    assert wakes(own, 7) == [420] * 7 + [600] * 7 + [420] * 7
    assert routine_of(own, "a") == Routine(()) and routine_of(own, None) == own.routine
    swapped = with_swap(with_swap(own, Swap(on(8), "a")), Swap(on(8), "b"))
    assert wakes(swapped, 7, 10) == [420, 600, 420]
    again = with_rotation(swapped, Rotation(on(7), ("b",) * 7))
    assert wakes(again, 7, 9) == [600, 600] and len(again.homes) == 2


def test_an_entry_that_has_begun_ends_yesterday_and_one_to_come_is_gone() -> None:
    begun, ahead, over = DayOff(on(8), on(12), "ill"), DayOff(on(20), on(21), "ill"), DayOff(on(1), on(2), "ill")
    assert ended((over, begun, ahead), on(8), TODAY) == (over, DayOff(on(8), on(9), "ill"), ahead)
    assert ended((begun, ahead), on(20), TODAY) == (begun,)
    for first_on in (on(1), on(5)):
        refused(lambda first_on=first_on: ended((over, begun), first_on, TODAY), "remove")


@given(st.integers(-12, 20), st.sampled_from(["week", "holiday", "off", "journey", "swap", "move of turns"]))
def test_a_change_is_taken_if_and_only_if_no_date_before_today_moves(n: int, kind: str) -> None:
    before = home(homes=(Home("a"), Home("b", Routine((week(on(-40), wake_minutes=600),)))), rotations=(Rotation(on(-40), ("a",) * 7),))
    routine = before.routine
    after = {
        "week": lambda: replace(before, routine=with_days(routine, max(on(n), MONDAY), ALL, late)),
        "holiday": lambda: replace(before, routine=with_holiday(routine, on(n), on(n), ALL, late)),
        "off": lambda: replace(before, days_off=(DayOff(on(n), on(n), "ill"),)),
        "journey": lambda: replace(before, journeys=(Journey(on(n), on(n), "Asia/Tokyo"),)),
        "swap": lambda: with_swap(before, Swap(on(n), "b")),
        "move of turns": lambda: with_rotation(before, Rotation(on(n), ("b",) * 7)),
    }[kind]()
    past = [on(k) for k in range(-50, 10)]
    moved = any(before.resolve(d) != after.resolve(d) or before.caregiver_on(d) != after.caregiver_on(d) for d in past)
    if moved:
        refused(lambda: check_change(before, after, TODAY), "from_on")
    else:
        check_change(before, after, TODAY)
    if kind in ("off", "journey", "swap", "move of turns"):
        assert moved == (on(n) < TODAY)


def test_more_than_a_family_enters_is_refused() -> None:
    refused(lambda: check_change(home(), home(days_off=tuple(DayOff(on(20 + n), on(20 + n), "ill") for n in range(401))), TODAY), "household")


def test_past_days_keep_the_zone_of_before_a_move() -> None:
    moved = home(moves=(Move(on(5), "Asia/Tokyo"), Move(on(9), "America/Lima")), journeys=(Journey(on(6), on(6), "UTC"),))
    assert [moved.resolve(on(n)).zone.key for n in (4, 5, 6, 8, 9)] == ["Europe/Lisbon", "Asia/Tokyo", "UTC", "Asia/Tokyo", "America/Lima"]
    refused(lambda: Move(on(5), "Mars/Base"), "time_zone")


@given(days())
def test_any_day_can_be_described(day: ClockDay) -> None:
    made = with_days(Routine(()), TODAY, ALL, lambda w, _: replace(day, day=w))
    assert all(replace(found, day=day.day) == day for found in made.weeks[0].days)  # type: ignore[type-var]


@given(st.lists(st.tuples(st.integers(0, 30), st.integers(0, 9)), max_size=4), st.lists(st.sampled_from([0, 30, 120]), max_size=30))
def test_days_off_are_counted_once_each_and_only_where_there_are_minutes(told: list[tuple[int, int]], doses: list[int]) -> None:
    days_off = tuple(DayOff(on(first), on(first + more), "ill") for first, more in told)
    found = days_off_ahead(days_off, {on(n): minutes for n, minutes in enumerate(doses)})
    fell = [m for n, m in enumerate(doses) if m and n in {first + k for first, more in told for k in range(more + 1)}]
    assert len(found) == bool(fell)
    for finding in found:
        assert finding.value and finding.value.value == sum(fell) and finding.message.params["days"] == len(fell)
        assert (finding.weight is Weight.CHECK) is (len(fell) >= 7) is (finding.family is not None)
        check(finding.message)
