"""The family calendar: the days it shows, the promises it keeps, and bytes that RFC 5545 and RFC 7986 allow."""

import re
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from schedules.feed import Published, next_changed_at, reconcile, render
from schedules.feed_items import ItemKind, closed_items
from schedules.regimen import Drops, Regimen
from shared.treatment.dose import DatedDose
from shared.treatment.protocol_words import Pattern
from shared.vocabulary import Laterality, MissingCorrectionRule, Phase
from tests.corpus import CORPUS, GOLDEN, Given, golden
from tests.feeds import NAMESPACE, NOW, RISING, SECOND, STOPPED, TODAY, day, days_shown, occlusion, plan, publish, unfolded

# What is shown


def test_another_reader_finds_the_signed_days_and_the_end_and_no_others() -> None:
    items = plan([RISING])
    expected = [day(n) for n in (-3, -2, -1, 0, 1, 2, 3, 4, 6, 7, 8)]
    assert days_shown(render(items, publish(items), name="Plan")) == expected
    assert [item.kind for item in items] == [ItemKind.TIME] * 10 + [ItemKind.PLAN_ENDS]
    assert [item.summary for item in items[3:4] + items[8:]] == ["Blue time: 1 h 30", "Blue time: 2 h 00", "Blue time: 2 h 00", "Plan ends"]


def test_the_window_is_thirty_days_behind_and_twenty_eight_ahead() -> None:
    items = plan([occlusion(1, -60, 90, (-60, 60))])
    assert (items[0].on, items[-1].on, len(items)) == (day(-30), day(28), 59)


def test_nothing_is_shown_from_a_stop_on_and_what_was_past_stays() -> None:
    assert [item.on for item in plan([RISING, STOPPED])] == [day(n) for n in range(-3, 2)]


def test_a_plan_that_ended_days_ago_still_says_so_until_another_takes_its_place() -> None:
    ended = occlusion(1, -20, -10, (-20, 60))
    followed, later = occlusion(2, -10, 10, (-10, 60)), occlusion(2, -5, 10, (-5, 60))

    def ends(*revisions: Regimen) -> list[date]:
        return [item.on for item in plan(revisions) if item.kind is ItemKind.PLAN_ENDS]

    assert ends(ended) == [day(-10)]
    assert ends(ended, followed) == [day(10)]
    assert ends(ended, later) == [day(-10), day(10)]


def test_a_past_day_is_the_same_item_whenever_it_is_looked_at() -> None:
    later = occlusion(2, 4, 40, (4, 180))
    then = {item.on: item for item in plan([RISING])}
    for item in plan([RISING, later], today=day(10)):
        if item.on < day(4):
            assert item == then[item.on]


def test_a_revoked_feed_says_one_thing() -> None:
    before = publish(plan([RISING]))
    items = closed_items(TODAY, "Calendar closed")
    body = render(items, publish(items, before, NOW + SECOND), name="Plan")
    assert days_shown(body) == [TODAY]
    assert [line for line in unfolded(body) if line.startswith(("SUMMARY", "STATUS"))] == ["SUMMARY:Calendar closed"]


# What is promised


def test_resigning_keeps_the_uid_of_every_day_and_renews_only_what_changed() -> None:
    before = {row.on: row for row in publish(plan([RISING]))}
    rows = publish(plan([RISING, occlusion(2, 6, 12, (6, 150))]), list(before.values()), NOW + timedelta(hours=1))
    for row in rows:
        if row.on < day(6):
            assert row == before[row.on]
        elif row.on < day(8):
            assert (row.uid, row.sequence, row.last_modified) == (before[row.on].uid, 1, datetime(2026, 3, 25, 8, 30, 12, tzinfo=UTC))
    at_the_old_end = {row.kind: row for row in rows if row.on == day(8)}
    assert at_the_old_end[ItemKind.PLAN_ENDS].withdrawn
    assert not at_the_old_end[ItemKind.TIME].withdrawn


def test_the_uid_says_nothing_and_differs_between_subscriptions_days_and_kinds() -> None:
    items = plan([RISING])
    other = reconcile(items, [], now=NOW, namespace=NAMESPACE, subscription="another")[0]
    uids = [row.uid for row in (*publish(items), *other)]
    assert len(set(uids)) == len(uids) == 22
    assert all(re.fullmatch(r"[0-9a-f]{8}-[0-9a-f]{4}-5[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}", uid) for uid in uids)


def test_a_withdrawn_day_leaves_the_feed_and_returns_as_the_same_event_newer() -> None:
    first = publish(plan([RISING]))
    gone = publish(plan([RISING, STOPPED]), first, NOW + SECOND)
    again = Regimen(3, Phase.OCCLUSION, day(3), day(8), Laterality.LEFT, (DatedDose(day(3), 90),), MissingCorrectionRule.GO_ON)
    back = publish(plan([RISING, STOPPED, again]), gone, NOW + 2 * SECOND)
    one, two, three = (next(r for r in rows if r.on == day(3)) for rows in (first, gone, back))
    assert (two.uid, two.withdrawn) == (one.uid, True)
    assert one.uid.encode() not in render(plan([RISING, STOPPED]), gone, name="Plan")
    assert (three.uid, three.withdrawn, three.sequence) == (one.uid, False, one.sequence + 1)
    assert three.last_modified > one.last_modified


@pytest.mark.parametrize("change", ["label", "alarm"])
def test_a_change_of_words_or_alarm_is_a_change_of_the_event(change: str) -> None:
    before = publish(plan([RISING]))
    items = plan([RISING], label="Green time") if change == "label" else plan([RISING], alarm_minutes=9 * 60)
    rows, changed = reconcile(items, before, now=NOW, namespace=NAMESPACE, subscription="Q7v1")
    assert changed
    for old, new in zip(before, rows, strict=True):
        renewed = new.kind is ItemKind.TIME
        assert (new.sequence, new.last_modified) == ((1, old.last_modified + SECOND) if renewed else (0, old.last_modified))


def test_the_same_facts_give_the_same_bytes_whatever_the_clock_and_the_order() -> None:
    items = plan([RISING])
    rows = publish(items)
    later, changed = reconcile(plan([RISING]), rows, now=NOW + timedelta(days=3), namespace=NAMESPACE, subscription="Q7v1")
    assert (later, changed) == (rows, False)
    assert render(items[::-1], rows[::-1], name="Plan") == render(items, later, name="Plan")


def test_the_feeds_own_time_rises_by_whole_seconds_even_if_the_clock_goes_back() -> None:
    assert next_changed_at(NOW, NOW + timedelta(days=1)) == datetime(2026, 3, 26, 7, 30, 12, tzinfo=UTC)
    assert next_changed_at(NOW, NOW) == datetime(2026, 3, 25, 7, 30, 13, tzinfo=UTC)
    assert next_changed_at(NOW, NOW - timedelta(hours=2)) == datetime(2026, 3, 25, 7, 30, 13, tzinfo=UTC)
    with pytest.raises(ValueError, match="naive"):
        next_changed_at(NOW, NOW.replace(tzinfo=None))


def test_two_items_in_one_place_are_refused() -> None:
    with pytest.raises(ValueError, match="share"):
        publish([*closed_items(TODAY, "a"), *closed_items(TODAY, "b")])


Step = tuple[list[tuple[int, int]], int, str, int | None, int]


@given(
    st.lists(
        st.tuples(
            st.lists(st.tuples(st.integers(-40, 20), st.sampled_from([0, 60, 90])), min_size=1, max_size=3),
            st.integers(0, 25),
            st.sampled_from(["Blue time", "Green time"]),
            st.sampled_from([None, 540]),
            st.integers(-5, 5),
        ),
        min_size=2,
        max_size=5,
    )
)
def test_through_any_history_an_event_that_differs_is_newer_under_the_same_uid(steps: list[Step]) -> None:
    rows: tuple[Published, ...] = ()
    seen: dict[str, tuple[str, int, datetime]] = {}
    uid_of: dict[tuple[date, str], str] = {}
    for regimens, roll, label, alarm_minutes, clock in steps:
        revisions = [occlusion(n, start, start + 15, (start, minutes)) for n, (start, minutes) in enumerate(regimens)]
        items = plan(revisions, day(roll), label, alarm_minutes)
        before = rows
        rows, changed = reconcile(items, before, now=NOW + clock * SECOND, namespace=NAMESPACE, subscription="Q7v1")
        assert changed == (rows != before)
        assert days_shown(render(items, rows, name="Plan")) == [item.on for item in items]
        for item in items:
            row = next(r for r in rows if r.key == item.key)
            assert uid_of.setdefault((item.on, item.kind), row.uid) == row.uid
            shown = str((item.summary, item.description, item.alarm_minutes))
            if row.uid in seen:
                was, sequence, modified = seen[row.uid]
                assert row.sequence >= sequence
                assert row.last_modified >= modified
                if was != shown:
                    assert row.sequence > sequence
                    assert row.last_modified > modified
            seen[row.uid] = (shown, row.sequence, row.last_modified)
        assert len({r.uid for r in rows}) == len(rows)


# What is written

# RFC 5545 section 3.6 and RFC 7986 section 5 name these; the X- ones are read by calendar programs. No person, place, state or repetition.
CALENDAR_LINES = {
    "VERSION", "PRODID", "METHOD", "NAME", "X-WR-CALNAME", "COLOR", "X-APPLE-CALENDAR-COLOR", "REFRESH-INTERVAL", "X-PUBLISHED-TTL",
}  # fmt: skip
EVENT_LINES = {
    "UID", "DTSTAMP", "LAST-MODIFIED", "SEQUENCE", "DTSTART", "DTEND", "SUMMARY", "DESCRIPTION", "URL", "CLASS", "TRANSP", "X-MICROSOFT-CDO-BUSYSTATUS",
}  # fmt: skip


def test_each_level_of_the_calendar_says_what_it_must_and_nothing_more() -> None:
    items = plan([RISING], alarm_minutes=7 * 60 + 30)
    lines = unfolded(render(items, publish(items), name="Plan"))
    levels: dict[str, set[str]] = {}
    stack: list[str] = []
    for line in lines[:-1]:
        name, value = re.split("[;:]", line, maxsplit=1)
        if name == "BEGIN":
            stack.append(value)
        elif name == "END":
            assert stack.pop() == value
        else:
            levels.setdefault(stack[-1], set()).add(name)
    assert levels == {"VCALENDAR": CALENDAR_LINES, "VEVENT": EVENT_LINES, "VALARM": {"ACTION", "DESCRIPTION", "TRIGGER"}}
    assert lines.count("BEGIN:VALARM") == lines.count("TRIGGER:PT7H30M") == 10
    assert {"VERSION:2.0", "METHOD:PUBLISH", "REFRESH-INTERVAL;VALUE=DURATION:PT1H", "X-PUBLISHED-TTL:PT1H", "COLOR:teal"} <= set(lines)
    assert {"CLASS:PRIVATE", "TRANSP:TRANSPARENT", "X-MICROSOFT-CDO-BUSYSTATUS:FREE", "DTSTAMP:20260325T073012Z"} <= set(lines)
    assert lines.count("SEQUENCE:0") == 11


def test_the_link_is_in_the_address_and_in_the_text() -> None:
    items = plan([RISING])
    lines = unfolded(render(items, publish(items), name="Plan"))
    link = "https://plan.example/day/Q7v1/2026-03-25/0f3a"
    assert f"URL:{link}" in lines
    assert f"DESCRIPTION:90 minutes today.\\n{link}" in lines


def test_a_full_window_stays_small() -> None:
    items = plan([occlusion(1, -60, 90, (-60, 60))], alarm_minutes=540)
    assert len(render(items, publish(items), name="Plan")) < 60_000  # some clients drop a feed near 1 MB; ours must stay far below


# Golden files: the bytes a phone was once given. One that must change is changed by hand, with the reason in the commit.


@pytest.mark.parametrize("case", CORPUS)
def test_the_bytes_are_those_of_the_golden_file(case: Callable[[], Given]) -> None:
    assert case().body() == golden(case)


def test_every_golden_file_is_of_the_corpus() -> None:
    assert {path.stem for path in GOLDEN.glob("*.ics")} == {case.__name__ for case in CORPUS}


def test_a_day_off_by_its_pattern_is_no_event_and_a_drop_is_one_that_says_nothing() -> None:
    every_other = replace(RISING, doses=(DatedDose(RISING.start_on, 600, Pattern.ALTERNATE_DAYS),))
    assert [i.on for i in plan([every_other]) if i.kind == "time"] == [day(n) for n in range(-3, 8, 2)]
    drops = Regimen(1, Phase.ATROPINE, day(0), day(8), None, (), MissingCorrectionRule.GO_ON, Drops(Laterality.LEFT, Pattern.DAILY))
    cares = [i for i in plan([drops]) if i.kind == "care"]
    assert [i.on for i in cares] == [day(n) for n in range(8)]
    assert {i.summary for i in cares} == {"care"} and all(i.description == i.url for i in cares)
    body = render(plan([drops]), publish(plan([drops])), name="care").decode().casefold()
    assert not any(word in body for word in ("drop", "atropine", "left", "eye"))
