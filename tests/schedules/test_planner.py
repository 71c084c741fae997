"""The planner against a search that tries everything, and what must hold on any day."""

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC as UTC_TZ
from datetime import date, timedelta
from itertools import pairwise
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from schedules.day import AwakeDay, ClockDay, NamedWindow, Place, Stay, Weekday, Window
from schedules.household import Household
from schedules.planner import PlannedDay, plan_day
from schedules.routine import DayOff, Holiday, ResolvedDay, Routine
from shared.errors import ClinicalInputError
from shared.findings import Quantity, Unit
from tests.schedules.days import MONDAY, UTC, clock_day, days, every_choice, merit, place_at, resolved, week
from tests.shared.messages import check

NUMBERS = pytest.mark.parametrize("number", [300, pytest.param(10_000, marks=pytest.mark.long)])


def of_examples(number: int) -> Callable[[Any], Any]:
    return settings(max_examples=number)


def placed(planned: PlannedDay) -> list[tuple[str, int]]:
    return [(f"{session.start_at:%H:%M}", session.minutes) for session in planned.sessions]


def in_minutes(planned: PlannedDay) -> tuple[tuple[int, int], ...]:
    return tuple((s.start_at.hour * 60 + s.start_at.minute, s.minutes) for s in planned.sessions)


@NUMBERS
def test_no_choice_is_better_on_a_small_day(number: int) -> None:
    """A search that knows only the words of the rules: every list of sessions, compared by the order of what is better."""

    @of_examples(number)
    @given(days(most_slots=11, most_sessions=3), st.integers(1, 60))
    def holds(day: ClockDay, prescribed_minutes: int) -> None:
        best = max(every_choice(day, prescribed_minutes), key=lambda sessions: merit(day, sessions))
        assert in_minutes(plan_day(prescribed_minutes, resolved(day))) == best

    holds()


@NUMBERS
def test_on_any_day_the_sessions_keep_to_what_the_family_said(number: int) -> None:
    @of_examples(number)
    @given(days(), st.integers(0, 960))
    def holds(day: ClockDay, prescribed_minutes: int) -> None:
        planned = plan_day(prescribed_minutes, resolved(day))
        sessions = in_minutes(planned)
        assert len(sessions) <= day.most_sessions
        assert all(start % 5 == 0 for start, _ in sessions)
        assert all(minutes % 5 == 0 for _, minutes in sessions[:-1])
        assert all(minutes >= min(day.shortest_session_minutes, prescribed_minutes) for _, minutes in sessions)
        assert all(start + minutes <= later for (start, minutes), (later, _) in pairwise(sessions))
        for session, (start, minutes) in zip(planned.sessions, sessions, strict=True):
            assert {place_at(day, minute) for minute in range(start, start + minutes)} == {session.where}
            near = sum(any(w.start_minutes <= minute < w.end_minutes for w in day.near_work) for minute in range(start, start + minutes))
            assert session.near_work_minutes == near

    holds()


@NUMBERS
def test_what_does_not_fit_is_said_in_minutes_and_never_silently_less(number: int) -> None:
    @of_examples(number)
    @given(days(), st.integers(0, 960))
    def holds(day: ClockDay, prescribed_minutes: int) -> None:
        planned = plan_day(prescribed_minutes, resolved(day))
        check(planned)
        missing = prescribed_minutes - planned.minutes
        assert missing >= 0
        if not missing:
            assert planned.finding is None
        else:
            assert planned.finding is not None and planned.finding.rule == "day-too-short"
            assert planned.finding.value == Quantity(missing, Unit.MINUTES)

    holds()


def test_one_long_session_rather_than_two_that_are_preferred() -> None:
    wishes = (Window(8 * 60, 8 * 60 + 30), Window(16 * 60, 16 * 60 + 30))
    assert placed(plan_day(60, resolved(clock_day(preferred=wishes)))) == [("07:30", 60)]


def test_as_much_as_can_be_in_the_preferred_window_then_the_earliest() -> None:
    assert placed(plan_day(120, resolved(clock_day()))) == [("07:00", 120)]
    assert placed(plan_day(120, resolved(clock_day(preferred=(Window(16 * 60, 17 * 60),))))) == [("15:00", 120)]


def test_preferred_minutes_are_counted_not_begun_slots() -> None:
    # from 07:55 the eight minutes would reach the preferred five by three only
    assert placed(plan_day(8, resolved(clock_day(preferred=(Window(480, 485),))))) == [("08:00", 8)]


def test_earliest_compares_the_starts_in_order_and_then_takes_the_longer_first() -> None:
    # nothing is preferred: both of two sessions may be longer; both begin as early as they can either way
    apart = clock_day(wake_minutes=420, sleep_minutes=720, gap_before_bed_minutes=0, naps=(Window(540, 600),))
    assert placed(plan_day(200, resolved(apart))) == [("07:00", 120), ("10:00", 80)]


def test_nothing_crosses_a_nap_a_block_a_stay_or_the_time_before_bed() -> None:
    day = clock_day(
        most_sessions=5,
        nursery=(Stay(540, 720, True),),
        activities=(NamedWindow(900, 930, "swimming"),),
        unwelcome=(NamedWindow(1080, 1140, "supper with grandmother"),),
    )
    planned = plan_day(900, resolved(day))
    assert placed(planned) == [("07:00", 120), ("09:00", 180), ("12:00", 60), ("14:00", 60), ("15:30", 150)]
    assert [s.where for s in planned.sessions] == [Place.HOME, Place.NURSERY, Place.HOME, Place.HOME, Place.HOME]
    assert planned.finding is not None and planned.finding.value == Quantity(900 - 570, Unit.MINUTES)


def test_a_place_that_does_not_patch_is_left_out() -> None:
    away = clock_day(nursery=(Stay(480, 960, False),))
    assert placed(plan_day(240, resolved(away))) == [("07:00", 60), ("16:00", 180)]


@pytest.mark.parametrize(("prescribed", "sessions"), [(12, [("07:00", 12)]), (247, [("07:00", 247)]), (392, [("07:00", 360), ("14:00", 32)])])
def test_the_last_session_takes_what_is_left_of_a_dose_that_is_no_multiple_of_five(prescribed: int, sessions: list[tuple[str, int]]) -> None:
    assert placed(plan_day(prescribed, resolved(clock_day()))) == sessions


def test_the_last_session_is_never_shorter_than_useful_even_for_such_a_dose() -> None:
    # 120 + 22 minutes: 20 in the last would be useful, 17 not
    day = clock_day(wake_minutes=420, sleep_minutes=720, gap_before_bed_minutes=0, naps=(Window(540, 600),))
    assert placed(plan_day(137, resolved(day))) == [("07:00", 115), ("10:00", 22)]


def test_a_single_minute_that_does_not_fit_is_said() -> None:
    whole, one_more = plan_day(690, resolved(clock_day())), plan_day(691, resolved(clock_day()))
    assert placed(whole) == placed(one_more) == [("07:00", 360), ("14:00", 330)]
    assert whole.finding is None and one_more.finding is not None and one_more.finding.value == Quantity(1, Unit.MINUTES)


def test_a_day_without_any_room_has_none_of_it() -> None:
    full = clock_day(activities=(NamedWindow(420, 780, "a"), NamedWindow(840, 1200, "b")))
    planned = plan_day(120, resolved(full))
    assert planned.minutes == 0 and planned.finding is not None and planned.finding.value == Quantity(120, Unit.MINUTES)


@pytest.mark.parametrize("minutes", [-1, 1441, float("nan"), float("inf"), 10.5])
def test_minutes_that_no_day_has_are_refused(minutes: float) -> None:
    with pytest.raises(ClinicalInputError) as refused:
        plan_day(minutes, resolved(clock_day()))  # type: ignore[arg-type]
    assert refused.value.field == "prescribed_minutes"
    check(refused.value.message)


def test_without_clock_times_the_amount_is_for_the_whole_day() -> None:
    awake = AwakeDay(Weekday.MONDAY, (90, 120, 120, 90))
    assert plan_day(300, ResolvedDay(MONDAY, UTC, awake)) == PlannedDay(MONDAY, all_day_minutes=300)
    assert plan_day(300, ResolvedDay(MONDAY, UTC, None)) == PlannedDay(MONDAY, all_day_minutes=300)
    longer = plan_day(430, ResolvedDay(MONDAY, UTC, awake))
    assert longer.minutes == 420 and longer.finding is not None and longer.finding.value == Quantity(10, Unit.MINUTES)
    check(longer)


def test_a_day_off_has_nothing_and_moves_nothing() -> None:
    home = Household(date(2023, 1, 1), "Europe/Lisbon", Routine((week(),)))
    ill = replace(home, days_off=(DayOff(MONDAY + timedelta(days=1), MONDAY + timedelta(days=2), "a cold"),))
    for n in range(14):
        on = MONDAY + timedelta(days=n)
        expected = PlannedDay(on) if n in (1, 2) else plan_day(120, home.resolve(on))
        assert plan_day(120, ill.resolve(on)) == expected


@given(st.lists(st.integers(0, 600), min_size=28, max_size=28), st.integers(0, 27), st.integers(0, 600), days())
def test_changing_one_date_moves_no_other(doses: list[int], changed: int, minutes: int, other: ClockDay) -> None:
    home = Household(date(2023, 1, 1), "Europe/Lisbon", Routine((week(),)))
    on = MONDAY + timedelta(days=changed)
    away = replace(home, routine=Routine((week(),), (Holiday(on, on, (replace(other, day=on),)),)))

    def plan(house: Household, doses: list[int]) -> list[PlannedDay]:
        return [plan_day(dose, house.resolve(MONDAY + timedelta(days=n))) for n, dose in enumerate(doses)]

    before, after = plan(home, doses), plan(away, [*doses[:changed], minutes, *doses[changed + 1 :]])
    assert [n for n in range(28) if before[n] != after[n]] in ([], [changed])


@given(st.integers(1, 27), days())
def test_a_routine_that_begins_today_changes_no_past_day(today: int, other: ClockDay) -> None:
    from_on = MONDAY + timedelta(days=today)
    home = Household(date(2023, 1, 1), "Europe/Lisbon", Routine((week(),)))
    newer = replace(week(from_on), days=tuple(replace(other, day=day) for day in Weekday))
    later = replace(home, routine=Routine((week(), newer)))
    for on in (MONDAY + timedelta(days=n) for n in range(28)):
        same = plan_day(120, later.resolve(on)) == plan_day(120, home.resolve(on))
        expected = plan_day(120, ResolvedDay(on, ZoneInfo("Europe/Lisbon"), replace(other, day=Weekday(on.weekday()))))
        assert same if on < from_on else plan_day(120, later.resolve(on)) == expected


def test_a_session_says_when_it_ends_after_its_minutes_have_passed() -> None:
    # Lisbon, 29 March 2026: the clock goes from 01:00 to 02:00
    night = clock_day(Weekday.SUNDAY, wake_minutes=0, naps=())
    [session] = plan_day(120, resolved(night, date(2026, 3, 29), ZoneInfo("Europe/Lisbon"))).sessions
    assert f"{session.start_at:%H:%M %z} {session.end_at:%H:%M %z}" == "00:00 +0000 03:00 +0100"
    assert session.end_at.astimezone(UTC_TZ) - session.start_at.astimezone(UTC_TZ) == timedelta(minutes=120)
