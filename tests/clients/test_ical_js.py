"""The feed read by ical.js, a parser that shares no code with the library that wrote it."""

import json
import subprocess
from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import UUID

import pytest

from schedules.feed import reconcile, render
from schedules.feed_items import closed_items
from tests.clients.expected import CLIENTS, DAYS

NODE = CLIENTS / "bin" / "node"
READ = """
const ICAL = require("ical.js");
// it does not know RFC 7986: it is told that both are TEXT, and reads them as it reads a SUMMARY
for (const name of ["name", "x-wr-calname"]) ICAL.design.icalendar.property[name] = { defaultType: "text" };
const calendar = new ICAL.Component(ICAL.parse(require("fs").readFileSync(0, "utf8")));
const text = property => property && { kind: property.getParameter("value") ?? property.type, value: String(property.getFirstValue()) };
console.log(JSON.stringify({
  name: text(calendar.getFirstProperty("name")),
  calname: text(calendar.getFirstProperty("x-wr-calname")),
  refresh: text(calendar.getFirstProperty("refresh-interval")),
  events: calendar.getAllSubcomponents("vevent").map(component => new ICAL.Event(component)).map(event => ({
    uid: event.uid, start: event.startDate.toString(), end: event.endDate.toString(), kind: event.component.getFirstProperty("dtstart").type,
    summary: event.summary, description: event.description, repeats: event.isRecurring(), stamp: event.component.getFirstPropertyValue("dtstamp").toString(),
    url: event.component.getFirstPropertyValue("url"),
  })),
}));
"""


def read(feed: bytes) -> Any:
    if not (CLIENTS / "node_modules" / "ical.js").exists():
        pytest.skip("the calendar clients are not installed")
    done = subprocess.run([NODE, "-e", READ], cwd=CLIENTS, input=feed, capture_output=True, timeout=60, check=False)
    assert done.returncode == 0, done.stderr.decode()
    return json.loads(done.stdout)


def test_every_day_is_a_date_of_its_own_with_its_words(feed: bytes) -> None:
    events = read(feed)["events"]
    days = [(str(on), str(on + timedelta(days=1)), "date", title, False) for on, title in DAYS]
    assert [(e["start"], e["end"], e["kind"], e["summary"], e["repeats"]) for e in events] == days
    assert len({e["uid"] for e in events}) == len(events)
    for event in events:
        assert event["stamp"].endswith("Z")
        assert event["url"] is None or event["description"].endswith(event["url"])


@pytest.mark.parametrize("name", ["Mia, Ben; home", "back\\slash", "\\n is no line break", "ends in \\"])
def test_a_title_with_commas_semicolons_and_backslashes_is_read_as_it_was_given(name: str) -> None:
    """RFC 5545 section 3.3.11 for TEXT; RFC 7986 section 5.1 makes NAME one. X-WR-CALNAME is common practice, read as NAME is. All from memory."""
    now = datetime(2026, 3, 10, 9, 0, tzinfo=UTC)
    items = closed_items(now.date(), name)
    promises, _ = reconcile(items, (), now=now, namespace=UUID(int=1), subscription="s")
    seen = read(render(items, promises, name=name))
    assert seen["events"][0]["summary"] == name
    assert seen["name"] == seen["calname"] == {"kind": "text", "value": name}
    assert seen["refresh"] == {"kind": "duration", "value": "PT1H"}
