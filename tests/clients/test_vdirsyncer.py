"""The feed subscribed to by a real calendar client over HTTP: the days arrive, and a second sync changes nothing."""

from pathlib import Path

import icalendar

from tests.clients.expected import DAYS
from tests.clients.subscribing import Subscriber
from tests.running import Demo


def test_a_subscriber_gets_every_day_once_and_a_second_sync_changes_nothing(demo: Demo, tmp_path: Path) -> None:
    subscriber = Subscriber(tmp_path, {"plan": demo.feed})
    subscriber.sync()
    first = subscriber.stored()
    found = [(e.decoded("dtstart"), str(e["summary"])) for body in first.values() for e in icalendar.Calendar.from_ical(body).events]
    assert sorted(found) == DAYS
    assert len(first) == len(DAYS)
    again = subscriber.sync()
    assert "Copying" not in again
    assert "Deleting" not in again
    assert subscriber.stored() == first
