"""The family calendar as each family wants it: the day or its sessions, visits and care, done days, words and alarms."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import icalendar
import pytest
from hypothesis import given
from hypothesis import strategies as st

from schedules.care_words import CareKind
from schedules.day import AwakeDay, Weekday
from schedules.feed import Published, as_promised, reconcile, render
from schedules.feed_items import ItemKind, PlannedItem
from schedules.feed_style import CareGroup, Colour, FeedStyle, Shown, group_of
from schedules.household import Household
from schedules.routine import Routine, Week
from shared.errors import ClinicalInputError
from tests.corpus import TWO_HOURS, care, split_days, the_day_and_its_sessions_with_alarms_a_short_day_and_a_day_off, worn
from tests.feeds import NAMESPACE, NOW, RISING, SECOND, TODAY, day, occlusion, plan, publish

SESSIONS = FeedStyle("time", shown=Shown.SESSIONS)
BOTH = replace(SESSIONS, shown=Shown.BOTH)


def on(items: tuple[PlannedItem, ...], n: int) -> list[tuple[ItemKind, int, str]]:
    return [(i.kind, i.ordinal, i.summary) for i in items if i.on == day(n)]


@pytest.mark.parametrize(
    ("time_zone", "hours"),
    [
        ("Europe/Berlin", {0: (8, 15), 3: (8, 15), 4: (7, 14), 10: (7, 14)}),  # summer time from 29 March 2026: UTC+1, then UTC+2
        ("America/Phoenix", {0: (16, 23), 10: (16, 23)}),  # UTC-7 all the year
    ],
)
def test_sessions_keep_the_clock_on_the_wall_and_their_minutes(time_zone: str, hours: dict[int, tuple[int, int]]) -> None:
    """Offsets from the IANA zones, as everybody there knows them."""
    items = plan([TWO_HOURS], style=SESSIONS, household=split_days(time_zone))
    for n, expected in hours.items():
        found = [i for i in items if i.on == day(n)]
        assert [(i.start_at, i.minutes) for i in found] == [(datetime.combine(day(n), datetime.min.time(), UTC) + timedelta(hours=h), 60) for h in expected]


def test_the_day_its_sessions_or_both() -> None:
    household = split_days("Europe/Lisbon")
    whole, first, second = (ItemKind.TIME, 1, "Blue time: 2 h 00"), (ItemKind.SESSION, 1, "Blue time: 1 h 00"), (ItemKind.SESSION, 2, "Blue time: 1 h 00")
    assert on(plan([TWO_HOURS], household=household), 0) == [whole]
    assert on(plan([TWO_HOURS], style=SESSIONS, household=household), 0) == [first, second]
    assert on(plan([TWO_HOURS], style=BOTH, household=household), 0) == [first, second, whole]


def test_where_no_times_are_known_the_whole_day_is_shown_whatever_was_chosen() -> None:
    infant = Household(date(2025, 12, 1), "Europe/Lisbon", Routine((Week(day(-40), tuple(AwakeDay(w, (90, 90, 120)) for w in Weekday)),)))
    untold = Household(date(2022, 1, 1), "Europe/Lisbon", Routine(()))
    for household in (infant, untold):
        assert on(plan([TWO_HOURS], style=SESSIONS, household=household), 0) == [(ItemKind.TIME, 1, "Blue time: 2 h 00")]


def test_a_day_too_short_keeps_its_dose_and_says_what_found_no_place() -> None:
    items = plan([TWO_HOURS], style=BOTH, household=split_days("Europe/Lisbon", short=Weekday.SATURDAY))
    saturday = [i for i in items if i.on == day(3)]
    assert [(i.summary, "60 minutes found no place." in i.description) for i in saturday] == [("Blue time: 1 h 00", True), ("Blue time: 2 h 00", True)]
    assert not any("no place" in i.description for i in items if i.on.weekday() != Weekday.SATURDAY)


def test_a_day_off_is_no_event_and_moves_no_other() -> None:
    kept = plan([TWO_HOURS], style=BOTH, household=split_days("Europe/Lisbon"))
    off = plan([TWO_HOURS], style=BOTH, household=split_days("Europe/Lisbon", off=5))
    assert off == tuple(i for i in kept if i.on != day(5))


def test_visits_stand_for_themselves_and_all_other_care_of_a_day_is_one_event_that_says_nothing() -> None:
    items = [
        care(CareKind.LENS_OUT, 0),
        care(CareKind.LENS_CLEAN, 0),
        care(CareKind.VISIT, 0, 17),
        care(CareKind.VISIT, 0, 19),
        care(CareKind.VISIT, 40, 18),
        care(CareKind.DROPS, 1),
    ]
    style = FeedStyle("time", care=frozenset({CareGroup.VISITS, CareGroup.LENS}), alarm_minutes=480)
    shown = plan([RISING], style=style, care=items)
    assert on(shown, 0) == [(ItemKind.CARE, 1, "care"), (ItemKind.TIME, 1, "Blue time: 1 h 30"), (ItemKind.VISIT, 1, "visit")]
    assert {i.alarm_minutes for i in shown if i.on == day(0)} == {480}
    assert on(shown, 1) == [(ItemKind.TIME, 1, "Blue time: 1 h 30")], "drops were not asked for"
    assert all(i.description == i.url for i in shown if i.kind in (ItemKind.CARE, ItemKind.VISIT))
    assert "lens" not in render(shown, publish(shown), name="x").decode().casefold()
    assert not [i for i in plan([RISING], style=replace(style, care=frozenset()), care=items) if i.kind in (ItemKind.CARE, ItemKind.VISIT)]


def test_care_outlives_the_plan_and_the_time_does_not() -> None:
    shown = plan([RISING], style=FeedStyle("time"), care=[care(CareKind.VISIT, 20, 3)])
    assert [(i.on, i.kind) for i in shown][-2:] == [(day(8), ItemKind.PLAN_ENDS), (day(20), ItemKind.VISIT)]


def test_what_was_met_before_its_day_is_left_out_and_what_was_met_on_it_stays_in_the_past() -> None:
    style = FeedStyle("time", care=frozenset({CareGroup.CHECKS}))
    items = [care(CareKind.PRESSURE_CHECK, 5, met=-2), care(CareKind.STITCH_CHECK, -6, met=-6), care(CareKind.REFRACTION_CHECK, -9, met=-3)]
    assert [i.on for i in plan([RISING], style=style, care=items) if i.kind is ItemKind.CARE] == [day(-9), day(-6)]


def test_every_kind_of_care_can_be_chosen() -> None:
    assert {group_of(kind) for kind in CareKind} == set(CareGroup)


def test_a_day_is_done_once_its_minutes_were_noted_and_only_where_the_family_wants_it_shown() -> None:
    entries = [worn(-3, 120), worn(-2, 90), worn(-1, 60), worn(-1, 60, False)]
    style = replace(BOTH, done_shown=True)
    done = {i.on for i in plan([TWO_HOURS], style=style, household=split_days("Europe/Lisbon"), entries=entries) if i.summary.endswith(", done")}
    assert done == {day(-3), day(-1)}, "with the glasses or without: the day was noted"
    assert not any("done" in i.summary for i in plan([TWO_HOURS], style=BOTH, entries=entries))


def test_the_familys_word_stands_before_every_title() -> None:
    shown = plan([RISING], style=FeedStyle("time", word="Blue"), care=[care(CareKind.VISIT, 1, 3)])
    titles = {i.summary for i in shown if i.kind is not ItemKind.PLAN_ENDS}
    assert titles == {"Blue: visit", *(f"Blue: Blue time: {time}" for time in ("1 h 00", "1 h 30", "2 h 00"))}


def test_alarms_are_before_sessions_and_after_the_midnight_of_the_day() -> None:
    read = icalendar.Calendar.from_ical(the_day_and_its_sessions_with_alarms_a_short_day_and_a_day_off().body())
    reminding = [event for event in read.events if event.alarms.times]
    assert len(reminding) == len(read.events) - 1, "all but the plan's end"
    for event in reminding:
        alarm = event.alarms.times[0].trigger
        if isinstance(event.decoded("dtstart"), datetime):
            assert alarm == event.decoded("dtstart") - timedelta(minutes=15)
        else:
            assert (alarm.date(), alarm.hour, alarm.minute) == (event.decoded("dtstart"), 7, 30)


@pytest.mark.parametrize(
    ("field", "values"),
    [
        ("label", {"label": " "}),
        ("label", {"label": "x" * 31}),
        ("word", {"word": "x" * 21}),
        ("alarm_minutes", {"alarm_minutes": 1440}),
        ("alarm_minutes", {"alarm_minutes": -1}),
        ("session_alarm_minutes", {"session_alarm_minutes": 121}),
        ("session_alarm_minutes", {"session_alarm_minutes": -1}),
    ],
)
def test_what_no_calendar_can_be_is_refused(field: str, values: dict[str, object]) -> None:
    with pytest.raises(ClinicalInputError) as refused:
        FeedStyle(**{"label": "time"} | values)
    assert refused.value.field == field


STYLES = st.builds(
    FeedStyle,
    st.just("time"),
    word=st.sampled_from(["", "Blue"]),
    shown=st.sampled_from(Shown),
    alarm_minutes=st.none() | st.integers(0, 1439),
    session_alarm_minutes=st.none() | st.integers(0, 120),
    care=st.frozensets(st.sampled_from(CareGroup)),
    done_shown=st.booleans(),
    colour=st.sampled_from(Colour),
)
CARE = [care(kind, n, 1 + n) for n in range(-4, 5) for kind in (CareKind.VISIT, CareKind.LENS_OUT, CareKind.DROPS)]


@given(st.lists(st.tuples(STYLES, st.sampled_from([None, 2, 5]), st.sampled_from([60, 120, 150])), min_size=2, max_size=5))
def test_through_any_change_of_style_an_event_keeps_its_uid_and_one_that_differs_is_newer(steps: list[tuple[FeedStyle, int | None, int]]) -> None:
    rows: tuple[Published, ...] = ()
    seen: dict[tuple[date, str, int], tuple[str, bytes, int, datetime]] = {}
    for style, off, minutes in steps:
        household = split_days("Europe/Lisbon", Weekday.SATURDAY, off)
        items = plan([occlusion(1, -3, 8, (-3, minutes))], style=style, household=household, care=CARE, entries=[worn(-1, 120)])
        rows = reconcile(items, rows, now=NOW, namespace=NAMESPACE, subscription="Q7v1")[0]
        body = render(items, rows, name=style.name, colour=style.colour)
        assert len(body) < 256_000
        assert max(map(len, body.split(b"\r\n"))) <= 75
        events = {str(e["uid"]): e for e in icalendar.Calendar.from_ical(body).events}
        assert len(events) == len(items)
        for row in rows:
            if row.withdrawn:
                continue
            event = events[row.uid]
            content = b"".join(line for line in event.to_ical().splitlines() if not line.startswith((b"DTSTAMP", b"LAST-MODIFIED", b"SEQUENCE")))
            sequence, modified = int(event["sequence"]), event.decoded("last-modified")
            if row.key in seen:
                uid, before, was_sequence, was_modified = seen[row.key]
                assert uid == row.uid
                assert (sequence, modified) >= (was_sequence, was_modified)
                if content != before:
                    assert sequence > was_sequence
                    assert modified >= was_modified + SECOND
            seen[row.key] = (row.uid, content, sequence, modified)


def test_a_full_window_of_everything_stays_far_below_what_clients_take() -> None:
    """A quarter of a megabyte: Google was seen to drop a feed near one (ilios/ilios pull 1345)."""
    twelve = FeedStyle("time" * 7, word="w" * 20, shown=Shown.BOTH, alarm_minutes=1, session_alarm_minutes=1, care=frozenset(CareGroup), done_shown=True)
    items = plan(
        [occlusion(1, -60, 90, (-60, 120))],
        style=twelve,
        household=split_days("Europe/Lisbon"),
        care=[care(kind, n) for n in range(-30, 29) for kind in (CareKind.VISIT, CareKind.DROPS)],
    )
    assert items[0].on == TODAY - timedelta(days=30)
    assert items[-1].on == TODAY + timedelta(days=28)
    assert len(items) == 59 * 5
    assert len(render(items, publish(items), name=twelve.name)) < 256_000


@pytest.mark.parametrize("shift_minutes", [-60, 30, 60])
def test_rules_of_a_zone_that_change_move_what_is_to_come_and_nothing_that_was(shift_minutes: int) -> None:
    items = plan([TWO_HOURS], style=SESSIONS, household=split_days("Europe/Lisbon"))
    promises = publish(items)
    moved = tuple(replace(i, start_at=i.start_at + timedelta(minutes=shift_minutes)) if i.start_at else i for i in items)
    after = as_promised(moved, promises, TODAY)
    assert [i for i in after if i.on < TODAY] == [i for i in items if i.on < TODAY] != []
    assert [i for i in after if i.on >= TODAY] == [i for i in moved if i.on >= TODAY]
    again = {p.key: p for p in publish(after, promises, NOW + SECOND)}
    assert all((again[p.key].sequence == p.sequence) == (p.on < TODAY) for p in promises if p.kind is ItemKind.SESSION)
