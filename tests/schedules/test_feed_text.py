"""Words in the family calendar: whatever a family or a clinic types, the feed stays one that RFC 5545 allows."""

import re

from hypothesis import example, given
from hypothesis import strategies as st
from icalendar import Calendar

from schedules.feed import render
from schedules.feed_items import closed_items
from tests.feeds import RISING, TODAY, days_shown, plan, publish, unfolded


def test_the_calendars_own_name_is_escaped_as_a_summary_is() -> None:
    """RFC 5545 section 3.3.11: a comma, a semicolon and a backslash each stand behind a backslash; RFC 7986 section 5.1: NAME is TEXT. Said from memory."""
    name = "Mia, Ben; a\\b"
    items = closed_items(TODAY, name)
    body = render(items, publish(items), name=name)
    lines = unfolded(body)
    assert {rf"{line}:Mia\, Ben\; a\\b" for line in ("NAME", "X-WR-CALNAME", "SUMMARY")} <= set(lines)
    as_summary = Calendar.from_ical(body.replace(b"\r\nNAME:", b"\r\nSUMMARY:"))  # the library does not know NAME, and would give it unread
    assert as_summary["SUMMARY"] == as_summary.events[0]["SUMMARY"] == name


@given(st.text(max_size=200), st.text(max_size=60))
@example("Blue\r\nEND:VEVENT\r\nBEGIN:VEVENT\r\nSUMMARY:more; of, \\this", "a\nMETHOD:CANCEL")
@example("\u2028\x85\x0b\x00\x1f\ud800", "\ud800")
@example("أزرق " * 30 + "👩‍👧" * 40, "Zeit; \\n")
def test_no_label_breaks_the_feed(label: str, name: str) -> None:
    items = plan([RISING], label=label, alarm_minutes=480)
    body = render(items, publish(items), name=name)
    assert body.endswith(b"END:VCALENDAR\r\n")
    assert max(len(line) for line in body.split(b"\r\n")) <= 75
    for line in body.split(b"\r\n"):
        line.decode()  # no character is cut by a fold
        assert not re.search(rb"[\x00-\x08\x0a-\x1f\x7f]", line)
    lines = unfolded(body)
    assert all(re.match(r"[A-Z-]+[;:]", line) for line in lines[:-1])
    assert lines.count("BEGIN:VEVENT") == lines.count("END:VEVENT") == 11
    assert lines.count("BEGIN:VCALENDAR") == lines.count("METHOD:PUBLISH") == 1
    assert days_shown(body) == [item.on for item in items]
    read = Calendar.from_ical(body).events[0]
    words = re.sub(r"[\s\x00-\x1f\x7f-\x9f\ud800-\udfff]+", "", f"{label}:1h00")
    assert re.sub(r"\s+", "", str(read["SUMMARY"])) == words
    assert str(read["SUMMARY"]) == str(read.alarms.times[0].alarm["DESCRIPTION"])
