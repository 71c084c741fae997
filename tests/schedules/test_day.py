"""A day of a family: what contradicts itself is refused with the day and the hour, and where sessions may lie."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from schedules.day import AwakeDay, ClockDay, FreeWindow, NamedWindow, Place, Stay, Weekday, Window, without_room
from shared.errors import ClinicalInputError
from shared.findings import Message
from shared.vocabulary import Status
from tests.schedules.days import clock_day, days, place_at
from tests.shared.messages import check


def words(message: Message) -> str:
    """As a reader would see it."""
    return message.text % {name: words(value) if isinstance(value, Message) else str(value) for name, value in message.params.items()}


@pytest.mark.parametrize(
    ("field", "change", "said"),
    [
        ("sleep_minutes", {"sleep_minutes": 390}, "Monday: sleep at 06:30 comes before waking at 07:00. A bedtime after midnight is entered as 24:00."),
        ("sleep_minutes", {"sleep_minutes": 30}, "Monday: sleep at 00:30 comes before waking"),
        ("sleep_minutes", {"sleep_minutes": 1470}, "Monday: 24:30 is no time of this day"),
        ("wake_minutes", {"wake_minutes": 421}, "Monday: 07:01 is no time"),
        ("wake_minutes", {"wake_minutes": -5}, "Monday: -5 is no time"),
        ("wake_minutes", {"wake_minutes": float("nan")}, "Monday: nan is no time"),
        ("naps", {"naps": (Window(390, 450),)}, "Monday: 06:30 to 07:30 lies outside the day, 07:00 to 20:00."),
        ("naps", {"naps": (Window(1190, 1210),)}, "19:50 to 20:10 lies outside the day"),
        ("naps", {"naps": (Window(780, 780),)}, "13:00 to 13:00 ends before it begins"),
        ("naps", {"naps": (Window(780, float("inf")),)}, "Monday: inf is no time"),
        ("naps", {"naps": (Window(780, 840), Window(600, 785))}, "Monday: 10:00 to 13:05 and 13:00 to 14:00 overlap."),
        ("naps", {"naps": (Window(420, 1200),)}, "Monday: the naps leave no time awake."),
        ("naps", {"nursery": (Stay(540, 790, True),)}, "09:00 to 13:10 and 13:00 to 14:00 overlap"),
        ("nursery", {"nursery": (Stay(540, 600, True), Stay(590, 700, False))}, "09:00 to 10:00 and 09:50 to 11:40 overlap"),
        ("activities", {"activities": (NamedWindow(830, 900, "swimming"),)}, "13:00 to 14:00 and 13:50 to 15:00 overlap"),
        ("activities", {"naps": (), "nursery": (Stay(600, 700, True),), "activities": (NamedWindow(690, 710, "choir"),)}, "10:00 to 11:40 and 11:30 to 11:50"),
        ("unwelcome", {"unwelcome": (NamedWindow(300, 540, "mornings"),)}, "05:00 to 09:00 lies outside the day"),
        ("preferred", {"preferred": (Window(900, 960),), "unwelcome": (NamedWindow(930, 990, "homework"),)}, "15:30 to 16:30 and 15:00 to 16:00 overlap"),
        ("near_work", {"near_work": (Window(900, 960), Window(955, 990))}, "15:00 to 16:00 and 15:55 to 16:30 overlap"),
        ("screen_free", {"screen_free": (Window(1000, 1205),)}, "16:40 to 20:05 lies outside the day"),
        ("most_sessions", {"most_sessions": 0}, "Monday, awake from 07:00 to 20:00: 0 cannot be. Give 1 to 12 in steps of 1."),
        ("most_sessions", {"most_sessions": 13}, "13 cannot be"),
        ("shortest_session_minutes", {"shortest_session_minutes": 0}, "0 cannot be. Give 5 to 780 in steps of 5."),
        ("shortest_session_minutes", {"shortest_session_minutes": 785}, "785 cannot be"),
        ("shortest_session_minutes", {"shortest_session_minutes": float("nan")}, "nan cannot be"),
        ("gap_before_bed_minutes", {"gap_before_bed_minutes": -5}, "-5 cannot be. Give 0 to 780"),
        ("gap_before_bed_minutes", {"gap_before_bed_minutes": 12}, "12 cannot be"),
    ],
)
def test_a_contradiction_is_refused_with_its_field_the_day_and_the_hour(field: str, change: dict[str, object], said: str) -> None:
    with pytest.raises(ClinicalInputError) as refused:
        clock_day(**change)
    check(refused.value.message)
    assert (refused.value.field, said in words(refused.value.message)) == (field, True), words(refused.value.message)


def test_a_day_that_stands_in_for_others_is_named_by_its_date() -> None:
    with pytest.raises(ClinicalInputError) as refused:
        clock_day(date(2026, 7, 20), sleep_minutes=400)
    assert words(refused.value.message).startswith("2026-07-20: sleep at 06:40")


def test_the_limits_themselves_can_be_entered() -> None:
    whole = ClockDay(Weekday.SUNDAY, 0, 1440, 12, 1440, 1440)
    assert whole.free() == () and whole.waking_minutes == 1440


def test_a_nap_an_activity_and_an_unwelcome_time_may_lie_within_nursery() -> None:
    day = clock_day(
        nursery=(Stay(540, 900, True),),
        activities=(NamedWindow(600, 630, "singing"),),
        unwelcome=(NamedWindow(660, 690, "in the garden"),),
        near_work=(Window(540, 600),),
    )
    assert day.free() == (
        FreeWindow(420, 540, Place.HOME),
        FreeWindow(540, 600, Place.NURSERY),
        FreeWindow(630, 660, Place.NURSERY),
        FreeWindow(690, 780, Place.NURSERY),
        FreeWindow(840, 900, Place.NURSERY),
        FreeWindow(900, 1170, Place.HOME),
    )


def test_the_time_before_bed_also_closes_what_is_left_of_nursery() -> None:
    assert clock_day(sleep_minutes=960, gap_before_bed_minutes=90, nursery=(Stay(840, 960, True),)).free()[-1] == FreeWindow(840, 870, Place.NURSERY)
    assert clock_day(sleep_minutes=960, gap_before_bed_minutes=90, nursery=(Stay(900, 960, True),)).free()[-1] == FreeWindow(840, 870, Place.HOME)


@given(days())
def test_every_minute_is_free_where_nothing_closes_it(day: ClockDay) -> None:
    free = {minute: window.where for window in day.free() for minute in range(window.start_minutes, window.end_minutes)}
    assert {minute: free.get(minute) for minute in range(1440)} == {minute: place_at(day, minute) for minute in range(1440)}


@given(days())
def test_waking_minutes_are_those_from_waking_to_sleep_less_the_naps(day: ClockDay) -> None:
    naps = sum(nap.end_minutes - nap.start_minutes for nap in day.naps)
    assert day.waking_minutes == day.sleep_minutes - day.wake_minutes - naps == AwakeDay(day.day, day.awake_stretches).waking_minutes


@pytest.mark.parametrize("awake", [(), (0, 90), (90, -5), (90, 1441), (720, 725), (float("nan"),), (90.5,)])
def test_stretches_awake_that_no_day_has_are_refused(awake: tuple[int, ...]) -> None:
    with pytest.raises(ClinicalInputError) as refused:
        AwakeDay(Weekday.TUESDAY, awake)
    check(refused.value.message)
    assert refused.value.field == "awake_stretches" and words(refused.value.message).startswith("Tuesday: ")


def test_a_day_without_room_for_a_single_session_says_so() -> None:
    full = clock_day(
        Weekday.TUESDAY, gap_before_bed_minutes=0, nursery=(Stay(435, 780, False),), activities=(NamedWindow(840, 1200, "at the grandparents' shop"),)
    )
    [finding] = without_room([clock_day(), full])
    assert (finding.rule, finding.status) == ("day-without-room", Status.COMMON_PRACTICE)
    assert words(finding.message).startswith("Tuesday: between 07:00 and 20:00 there is no room") and [words(w) for w in finding.working] == [
        "free from 07:00 to 07:15"
    ]
    check(finding)
    closed = clock_day(Weekday.SUNDAY, unwelcome=(NamedWindow(420, 1200, "Sundays are Sundays"),))
    assert [f.rule for f in without_room([closed])] == ["day-without-room"]


@given(st.sampled_from(Weekday), days())
def test_every_weekday_has_its_name(weekday: Weekday, day: ClockDay) -> None:
    with pytest.raises(ClinicalInputError) as refused:
        clock_day(weekday, wake_minutes=1440)
    assert words(refused.value.message).startswith(f"{date(2026, 3, 2 + weekday):%A}:")
