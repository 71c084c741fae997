"""Which day holds on a date: weeks from a date on, holidays, the age under which naps move; and whose home it is."""

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from schedules.day import AwakeDay, Weekday
from schedules.household import Home, Household, Rotation, Swap
from schedules.routine import DayOff, Holiday, Journey, Routine, Week
from shared.errors import ClinicalInputError
from tests.schedules.days import MONDAY, clock_day, week
from tests.shared.messages import check

OLD_ENOUGH = 40
BORN_ON = date(2023, 1, 1)


def day(n: int) -> date:
    return MONDAY + timedelta(days=n)


def wakes(routine: Routine, n: int) -> int | None:
    found = routine.day_on(day(n), OLD_ENOUGH)
    return None if found is None else found.wake_minutes  # type: ignore[union-attr]


def refused_field(make: Any, *given: object, **named: object) -> str:
    with pytest.raises(ClinicalInputError) as refused:
        make(*given, **named)
    check(refused.value.message)
    return refused.value.field


def test_a_week_holds_from_its_date_until_the_next() -> None:
    routine = Routine((week(day(0), wake_minutes=400), week(day(9), wake_minutes=430)))
    assert [wakes(routine, n) for n in (-1, 0, 8, 9, 100)] == [None, 400, 400, 430, 430]


def test_each_weekday_has_its_own_day() -> None:
    own = Week(MONDAY, tuple(clock_day(w, wake_minutes=300 + 10 * w) for w in Weekday))
    assert [wakes(Routine((own,)), n) for n in range(14)] == [300, 310, 320, 330, 340, 350, 360] * 2


def test_a_holiday_of_one_day_stands_for_all_its_dates_and_its_last_is_included() -> None:
    away = Holiday(day(3), day(5), (clock_day(day(3), wake_minutes=500),))
    assert [wakes(Routine((week(),), (away,)), n) for n in range(2, 7)] == [420, 500, 500, 500, 420]


def test_a_holiday_by_weekday_leaves_the_others_as_they_are() -> None:
    away = Holiday(day(0), day(9), (clock_day(Weekday.TUESDAY, wake_minutes=510), clock_day(Weekday.SUNDAY, wake_minutes=540)))
    assert [wakes(Routine((week(),), (away,)), n) for n in range(14)] == [420, 510, 420, 420, 420, 420, 540, 420, 510] + [420] * 5


def test_before_the_first_week_no_day_is_known_on_a_holiday_either() -> None:
    assert wakes(Routine((week(day(7)),), (Holiday(day(1), day(2), (clock_day(day(1)),)),)), 1) is None


def test_under_nine_completed_months_a_day_is_its_stretches_awake_unless_the_family_chose_the_clock() -> None:
    routine, by_clock = Routine((week(),)), Routine((week(clock_for_infant=True),))
    awake = AwakeDay(Weekday.MONDAY, (360, 360))
    assert [routine.day_on(MONDAY, months) for months in (0, 8, 9)] == [awake, awake, clock_day()]
    assert by_clock.day_on(MONDAY, 3) == clock_day()
    # born on 2 June 2025: nine months are completed on Monday 2 March 2026
    infant = Household(date(2025, 6, 2), "Europe/Lisbon", Routine((week(day(-7)),)))
    assert [type(infant.resolve(day(n)).day).__name__ for n in (-1, 0)] == ["AwakeDay", "ClockDay"]


@pytest.mark.parametrize(
    ("field", "make", "given"),
    [
        ("days", Week, (MONDAY, (clock_day(),) * 7)),
        ("days", Week, (MONDAY, tuple(clock_day(w) for w in Weekday)[:6])),
        ("days", Week, (MONDAY, tuple(clock_day(w) for w in reversed(Weekday)))),
        ("last_on", Holiday, (day(1), day(0), (clock_day(day(1)),))),
        ("days", Holiday, (day(1), day(2), ())),
        ("days", Holiday, (day(1), day(2), (clock_day(day(2)),))),
        ("days", Holiday, (day(1), day(2), (clock_day(), clock_day()))),
        ("days", Holiday, (day(1), day(2), (clock_day(day(1)), clock_day()))),
        ("last_on", DayOff, (day(1), day(0), "a cold")),
        ("last_on", Journey, (day(1), day(0), "Asia/Tokyo")),
        ("time_zone", Journey, (day(0), day(1), "Asia/Nowhere")),
        ("time_zone", Journey, (day(0), day(1), "localtime")),
        ("time_zone", Journey, (day(0), day(1), "../etc/passwd")),
        ("time_zone", Journey, (day(0), day(1), "")),
        ("weeks", Routine, ((week(day(1)), week(day(1))),)),
        ("weeks", Routine, ((week(day(2)), week(day(1))),)),
        ("holidays", Routine, ((week(),), (Holiday(day(4), day(6), (clock_day(day(4)),)), Holiday(day(1), day(4), (clock_day(day(1)),))))),
        ("caregivers", Rotation, (MONDAY, ("a",) * 6)),
        ("caregivers", Rotation, (MONDAY, ())),
    ],
)
def test_what_contradicts_itself_is_refused(field: str, make: Any, given: tuple[object, ...]) -> None:
    assert refused_field(make, *given) == field


FORTNIGHT = Rotation(MONDAY, ("a",) * 7 + ("b",) * 7)
TWO_HOMES = Household(BORN_ON, "Europe/Lisbon", Routine((week(),)), (Home("a"), Home("b", Routine((week(day(20), wake_minutes=480),)))), (FORTNIGHT,))


@pytest.mark.parametrize(
    ("field", "change"),
    [
        ("time_zone", {"time_zone": "Nowhere"}),
        ("homes", {"homes": (Home("a"), Home("b"), Home("a"))}),
        ("rotations", {"homes": (Home("a"),)}),
        ("rotations", {"rotations": (FORTNIGHT, FORTNIGHT)}),
        ("swaps", {"swaps": (Swap(day(2), "c"),)}),
        ("swaps", {"swaps": (Swap(day(2), "a"), Swap(day(3), "a"), Swap(day(2), "b"))}),
        ("journeys", {"journeys": (Journey(day(5), day(9), "Asia/Tokyo"), Journey(day(0), day(5), "Asia/Seoul"))}),
    ],
)
def test_a_household_that_contradicts_itself_is_refused(field: str, change: dict[str, object]) -> None:
    assert refused_field(replace, TWO_HOMES, **change) == field


def test_a_fortnight_begins_again_at_its_anchor_and_a_swap_is_one_date() -> None:
    swapped = replace(TWO_HOMES, swaps=(Swap(day(3), "b"), Swap(day(13), "a")))
    assert "".join(swapped.caregiver_on(day(n)) or "-" for n in range(-1, 28)) == "-" + "aaabaaa" + "bbbbbba" + "aaaaaaa" + "bbbbbbb"


@given(st.integers(0, 600), st.integers(0, 60))
def test_a_newer_rotation_changes_no_date_before_its_anchor(n: int, anchor: int) -> None:
    weekly = Rotation(day(anchor + 1), ("a", "b", "a", "b", "a", "b", "b"))
    newer = replace(TWO_HOMES, rotations=(FORTNIGHT, weekly))
    expected = FORTNIGHT.caregivers[n % 14] if n <= anchor else weekly.caregivers[(n - anchor - 1) % 7]
    assert newer.caregiver_on(day(n)) == expected


def test_a_home_has_its_own_day_from_the_date_it_gave_one_and_the_common_one_before() -> None:
    wakes_on = {n: TWO_HOMES.resolve(day(n)).day.wake_minutes for n in (6, 7, 19, 20, 21, 27)}  # type: ignore[union-attr]
    # 7 to 13 and 21 to 27 are at b's; its own week holds from 20 on
    assert wakes_on == {6: 420, 7: 420, 19: 420, 20: 420, 21: 480, 27: 480}


def test_a_journey_has_its_zone_from_its_first_to_its_last_date() -> None:
    travelling = replace(TWO_HOMES, journeys=(Journey(day(2), day(4), "Asia/Tokyo"),))
    assert [travelling.resolve(day(n)).zone.key for n in range(1, 6)] == ["Europe/Lisbon", *["Asia/Tokyo"] * 3, "Europe/Lisbon"]


def test_nothing_is_resolved_before_birth() -> None:
    assert refused_field(TWO_HOMES.resolve, date(2022, 12, 31)) == "on"
