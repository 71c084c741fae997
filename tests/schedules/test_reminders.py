"""What a caregiver is reminded of, and when: by the facts of a date and their wishes, in the zone of the child."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from schedules.day import Place
from schedules.planner import PlannedDay, PlannedSession
from schedules.reminders import CHOSEN, DayToRemind, ReminderKind, Wishes, reminders
from shared.errors import ClinicalInputError

LISBON = ZoneInfo("Europe/Lisbon")
ON = date(2026, 3, 10)
LOUD = Wishes(quiet_from_minutes=0, quiet_until_minutes=0)
S, EVENING, CARE, REVIEW = ReminderKind.SESSION, ReminderKind.EVENING, ReminderKind.CARE, ReminderKind.REVIEW


def session(hour: int, minutes: int, on: date = ON, zone: ZoneInfo = LISBON) -> PlannedSession:
    return PlannedSession(datetime(on.year, on.month, on.day, hour, tzinfo=zone), minutes, Place.HOME, 0, 0)


TWO = DayToRemind(PlannedDay(ON, (session(10, 60), session(16, 60))), LISBON)


def told(day: DayToRemind, wishes: Wishes = LOUD) -> list[tuple[ReminderKind, str]]:
    return [(r.kind, f"{r.due_at.astimezone(day.zone):%H:%M}") for r in reminders(day, wishes)]


def test_before_each_session_and_in_the_evening_while_nothing_is_noted() -> None:
    assert told(TWO, replace(LOUD, lead_minutes=20)) == [(S, "09:40"), (S, "15:40"), (EVENING, "19:00")]


@pytest.mark.parametrize(
    ("noted", "none", "left"),
    [
        (30, False, [(S, "09:45"), (S, "15:45")]),
        (60, False, [(S, "15:45")]),
        (120, False, []),
        (0, True, []),  # it was said that none was worn: no more is asked that day
    ],
)
def test_what_is_noted_is_not_asked_for_again(noted: int, none: bool, left: list[tuple[ReminderKind, str]]) -> None:
    assert told(replace(TWO, noted_minutes=noted, noted_none=none)) == left


def test_a_day_without_hours_is_told_once_and_a_day_off_not_at_all() -> None:
    assert told(DayToRemind(PlannedDay(ON, all_day_minutes=120), LISBON)) == [(S, "08:00"), (EVENING, "19:00")]
    assert told(DayToRemind(PlannedDay(ON), LISBON)) == []


def test_care_a_visit_and_the_end_of_a_plan_come_at_the_hour_of_the_day() -> None:
    day = DayToRemind(PlannedDay(ON), LISBON, tasks=2, visit_on=date(2026, 3, 12), ends_on=date(2026, 3, 17))
    assert told(day, replace(LOUD, day_minutes=9 * 60)) == [(CARE, "09:00"), (REVIEW, "09:00"), (REVIEW, "09:00")]
    assert [r.about_on for r in reminders(day, LOUD)] == [None, date(2026, 3, 12), date(2026, 3, 17)]


def test_quiet_hours_put_off_and_what_would_come_too_late_is_left_out() -> None:
    early = DayToRemind(PlannedDay(ON, (session(7, 30), session(16, 30))), LISBON)
    usual = Wishes(lead_minutes=30)  # quiet from 21:00 until 07:00
    assert told(early, usual) == [(S, "07:00"), (S, "15:30"), (EVENING, "19:00")]
    assert told(early, replace(usual, quiet_until_minutes=8 * 60 + 30)) == [(S, "15:30"), (EVENING, "19:00")], "an hour after its time it is noise"
    assert told(TWO, replace(usual, evening_minutes=22 * 60))[-1][0] is S, "the evening's question belongs to its evening"


def test_only_what_is_wished_for_and_never_less_than_what_is_essential() -> None:
    assert told(TWO, replace(LOUD, kinds=frozenset({EVENING}))) == [(EVENING, "19:00")]
    silent = replace(LOUD, kinds=frozenset())
    assert [k for k in ReminderKind if silent.wants(k)] == [ReminderKind.PLAN_PAUSED, ReminderKind.PLAN_STOPPED]


@pytest.mark.parametrize(
    ("field", "value"), [("lead_minutes", 121), ("lead_minutes", -1), ("evening_minutes", 1440), ("day_minutes", -1), ("quiet_from_minutes", 2000)]
)
def test_wishes_that_cannot_be_are_refused_by_name(field: str, value: int) -> None:
    with pytest.raises(ClinicalInputError) as refused:
        replace(LOUD, **{field: value})
    assert refused.value.field == field


minutes_of_day = st.integers(0, 1439)
zones = st.sampled_from([ZoneInfo(z) for z in ("Europe/Lisbon", "America/New_York", "Asia/Kathmandu", "Pacific/Apia", "Australia/Lord_Howe")])


@given(
    zones,
    st.dates(date(2025, 1, 1), date(2027, 12, 31)),
    st.lists(st.tuples(st.integers(0, 22), st.sampled_from([15, 30, 60])), max_size=3, unique_by=lambda s: s[0]),
    st.none() | st.integers(0, 240),
    st.builds(
        Wishes,
        kinds=st.frozensets(st.sampled_from(CHOSEN)),
        lead_minutes=st.integers(0, 120),
        day_minutes=minutes_of_day,
        evening_minutes=minutes_of_day,
        quiet_from_minutes=minutes_of_day,
        quiet_until_minutes=minutes_of_day,
    ),
)
def test_none_in_quiet_hours_none_unwished_none_after_its_end_and_each_once(zone: ZoneInfo, on: date, hours, noted: int | None, wishes: Wishes) -> None:
    sessions = tuple(session(hour, minutes, on, zone) for hour, minutes in sorted(hours))
    found = reminders(DayToRemind(PlannedDay(on, sessions), zone, noted, tasks=1), wishes)
    assert len({(r.kind, r.ordinal) for r in found}) == len(found)
    for r in found:
        assert wishes.wants(r.kind) and r.due_at < r.expires_at
        local = r.due_at.astimezone(zone)
        inside = local.hour * 60 + local.minute - wishes.quiet_from_minutes
        length = (wishes.quiet_until_minutes - wishes.quiet_from_minutes) % 1440
        skipped = local != (local.astimezone(UTC) - timedelta(hours=2)).astimezone(zone) + timedelta(hours=2)  # the clock changes hereabouts
        assert skipped or inside % 1440 >= length
