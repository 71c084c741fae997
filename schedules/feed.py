"""The family calendar: what it has promised, and its bytes. No clock and no randomness: same items, same bytes.

What is no longer shown, withdrawn or fallen out of the window, simply leaves the feed; its row stays, so that a day which returns returns as
the same event, newer.
"""

import hashlib
import json
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from uuid import UUID, uuid5

from icalendar import Alarm, Calendar, Event
from icalendar.prop import vDuration, vText

from schedules.feed_items import ItemKind, Key, PlannedItem
from schedules.feed_style import Colour

REFRESH = timedelta(hours=1)
_DAY = timedelta(days=1)
_SECOND = timedelta(seconds=1)


@dataclass(frozen=True)
class Published:
    """What was promised for one item: a UID for ever, a sequence and a last modification (UTC, whole seconds) that only rise."""

    on: date
    kind: ItemKind
    ordinal: int
    uid: str
    content_hash: str
    sequence: int
    last_modified: datetime
    withdrawn: bool = False
    start_at: datetime | None = None  # of an item that has a time

    @property
    def key(self) -> Key:
        return self.on, self.kind, self.ordinal


def content_hash(item: PlannedItem) -> str:
    """SHA-256 over everything of an item that a phone would show or do."""
    content = [item.on.isoformat(), item.kind, item.ordinal, item.summary, item.description, item.url, item.alarm_minutes]
    if item.start_at is not None:
        content += [_whole_second(item.start_at).isoformat(), item.minutes]
    return hashlib.sha256(json.dumps(content).encode()).hexdigest()


def as_promised(planned: Sequence[PlannedItem], published: Sequence[Published], today: date) -> tuple[PlannedItem, ...]:
    """What lies before `today` begins when it was promised to begin, whatever the rules of its zone have become since."""
    promised = {row.key: row.start_at for row in published if row.on < today and not row.withdrawn}
    return tuple(replace(item, start_at=promised.get(item.key) or item.start_at) if item.start_at else item for item in planned)


def reconcile(
    planned: Sequence[PlannedItem], published: Sequence[Published], *, now: datetime, namespace: UUID, subscription: str
) -> tuple[tuple[Published, ...], bool]:
    """The promises after `planned` is published, by date, and whether any of them changed.

    A new item starts at sequence 0; a changed one and one that returns go up by one and are modified later than before, whatever the
    clock says; one no longer planned is marked withdrawn and kept. Raises ValueError for two items in one place.
    """
    items = {item.key: item for item in planned}
    if len(items) < len(planned):
        raise ValueError("two planned items share a date, kind and ordinal")
    rows = {row.key: row for row in published}
    after = {key: row if row.withdrawn or key in items else replace(row, withdrawn=True) for key, row in rows.items()}
    for key, item in items.items():
        digest, row = content_hash(item), rows.get(key)
        if row is None:
            uid = str(uuid5(namespace, f"{subscription}|{item.on.isoformat()}|{item.kind}|{item.ordinal}"))
            after[key] = Published(item.on, item.kind, item.ordinal, uid, digest, 0, _whole_second(now), start_at=item.start_at)
        elif row.withdrawn or row.content_hash != digest:
            newer = next_changed_at(row.last_modified, now)
            after[key] = replace(row, content_hash=digest, sequence=row.sequence + 1, last_modified=newer, withdrawn=False, start_at=item.start_at)
    return tuple(after[key] for key in sorted(after)), after != rows


def next_changed_at(previous: datetime, now: datetime) -> datetime:
    """`now` in whole seconds of UTC, or one second after `previous` where the clock has not passed it: HTTP dates and LAST-MODIFIED count seconds."""
    return max(_whole_second(now), _whole_second(previous) + _SECOND)


def _whole_second(at: datetime) -> datetime:
    if at.tzinfo is None:
        raise ValueError("a naive datetime has no place in the feed")
    return at.astimezone(UTC).replace(microsecond=0)


def render(planned: Sequence[PlannedItem], published: Sequence[Published], *, name: str, colour: Colour = Colour.TEAL) -> bytes:
    """The calendar's bytes: `planned` as `published` promised it. Raises KeyError for an item never reconciled."""
    calendar = Calendar()  # not Calendar.new(): it would add a random UID, which also makes some clients keep the feed as one item
    calendar.add("prodid", "-//occlusion dose//plan//EN")
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    calendar.add("name", vText(_line(name)))  # the library takes neither for TEXT, and would write commas and semicolons bare
    calendar.add("x-wr-calname", vText(_line(name)))
    calendar.add("refresh-interval", vDuration(REFRESH), parameters={"VALUE": "DURATION"})
    calendar.add("x-published-ttl", vDuration(REFRESH))
    calendar.add("color", colour.value)
    calendar.add("x-apple-calendar-color", colour.code)
    promises = {row.key: row for row in published}
    for item in sorted(planned, key=lambda item: item.key):
        calendar.add_component(_event(item, promises[item.key]))
    return bytes(calendar.to_ical())


def _event(item: PlannedItem, promise: Published) -> Event:
    event = Event()
    event.add("uid", promise.uid)
    modified_at = promise.last_modified.astimezone(UTC)  # any other zone would be written with a TZID
    event.add("dtstamp", modified_at)
    event.add("last-modified", modified_at)
    event.add("sequence", promise.sequence)
    start, end = _span(item)
    event.add("dtstart", start)
    event.add("dtend", end)
    event.add("summary", _line(item.summary))
    if item.description:
        event.add("description", "\n".join(map(_line, item.description.splitlines())))
    if item.url:
        event.add("url", item.url)
    event.add("class", "PRIVATE")
    event.add("transp", "TRANSPARENT")
    event.add("x-microsoft-cdo-busystatus", "FREE")
    if item.alarm_minutes is not None:
        event.add_component(_alarm(item.summary, item.alarm_minutes))
    return event


def _span(item: PlannedItem) -> tuple[date, date] | tuple[datetime, datetime]:
    if item.start_at is None:
        return item.on, item.on + _DAY
    start_at = _whole_second(item.start_at)
    return start_at, start_at + timedelta(minutes=item.minutes)


def _alarm(text: str, minutes: int) -> Alarm:
    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("description", _line(text))
    alarm.add("trigger", timedelta(minutes=minutes))
    return alarm


def _line(text: str) -> str:
    """One line of text a calendar can hold: line breaks and controls become spaces, lone surrogates go."""
    shown = "".join(" " if unicodedata.category(c) == "Cc" else c for c in text if unicodedata.category(c) != "Cs")
    return " ".join(shown.split())
