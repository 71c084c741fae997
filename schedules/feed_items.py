"""What the family calendar shows: dated items, their words already translated. Which there are follows from the facts and the day alone.

Each day is an item of its own, so a phone that has lost its connection runs dry at the horizon instead of repeating an old plan. Titles say nothing
of eye, child or illness: others read a calendar too.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from enum import StrEnum

from schedules.adherence import Span, WearEntry, day_wear
from schedules.care_words import CareItem, CareKind
from schedules.feed_style import FeedStyle, Shown
from schedules.planner import PlannedDay, PlannedSession
from schedules.regimen import Regimen, drop_due, plan_endings, prescribed_minutes

DAYS_BEHIND = 30
DAYS_AHEAD = 28
_FIRST = 1  # the ordinal of a day's only item of its kind

Key = tuple[date, "ItemKind", int]


class ItemKind(StrEnum):
    """What a day in the calendar says. Part of the UID: never rename a value."""

    TIME = "time"
    SESSION = "session"
    CARE = "care"
    VISIT = "visit"
    PLAN_ENDS = "plan-ends"
    CLOSED = "closed"
    MOVED = "moved"


@dataclass(frozen=True)
class PlannedItem:
    """An all-day item, or one of `minutes` from an instant on. `alarm_minutes` count from its beginning: of an all-day item the local midnight."""

    on: date
    kind: ItemKind
    ordinal: int
    summary: str
    description: str
    url: str | None = None
    alarm_minutes: int | None = None
    start_at: datetime | None = None
    minutes: int = 0

    @property
    def key(self) -> Key:
        return self.on, self.kind, self.ordinal


@dataclass(frozen=True)
class FeedFacts:
    """One child's facts: `planned_day` is asked of days with minutes alone, `care` and `entries` may hold more than is shown."""

    revisions: Sequence[Regimen]
    planned_day: Callable[[date], PlannedDay]
    care: Sequence[CareItem] = ()
    entries: Sequence[WearEntry] = ()


@dataclass(frozen=True)
class FeedWords:
    """The titles and texts in one language; `time` is given minutes, `done` a title, `short` the minutes that found no place."""

    time: Callable[[int], str]
    done: Callable[[str], str]
    note: Callable[[int], str]
    short: Callable[[int], str]
    care: str
    visit: str
    plan_ends: str


def window(today: date) -> Span:
    return Span(today - timedelta(days=DAYS_BEHIND), today + timedelta(days=DAYS_AHEAD + 1))


def planned_items(facts: FeedFacts, today: date, *, style: FeedStyle, words: FeedWords, link_for: Callable[[date], str]) -> tuple[PlannedItem, ...]:
    """Everything from 30 days before `today` to 28 after it, by date: minutes and drops up to the end of what was signed, visits and care beyond it too.

    `link_for(day)` is the address that shows and logs that day.
    """
    days = window(today).days()
    items = [PlannedItem(day, ItemKind.PLAN_ENDS, _FIRST, words.plan_ends, "") for day in plan_endings(facts.revisions) if day in days]
    for day in days:
        link = link_for(day)
        items += _time(facts, day, style, words, link)
        items += _care(facts, day, style, words, link)
    return tuple(sorted(items, key=lambda item: item.key))


def _time(facts: FeedFacts, day: date, style: FeedStyle, words: FeedWords, link: str) -> Iterator[PlannedItem]:
    """The signed minutes for the whole day, and the sessions they were given; nothing on a day off."""
    minutes = prescribed_minutes(facts.revisions, day)
    if not minutes:
        return
    held = facts.planned_day(day)
    if not held.minutes and held.finding is None:
        return
    done = style.done_shown and _is_done(facts, day, minutes)
    short = f"\n{words.short(minutes - held.minutes)}" if held.finding else ""

    def titled(minutes: int) -> str:
        title = style.titled(words.time(minutes))
        return words.done(title) if done else title

    def text(minutes: int) -> str:
        # the link stands in the text too: not every calendar shows an event's address
        return f"{words.note(minutes)}{short}\n{link}"

    if style.shown is not Shown.SESSIONS or not held.sessions:
        yield PlannedItem(day, ItemKind.TIME, _FIRST, titled(minutes), text(minutes), link, style.alarm_minutes)
    if style.shown is not Shown.ALL_DAY:
        before = None if style.session_alarm_minutes is None else -style.session_alarm_minutes
        for ordinal, s in enumerate(held.sessions, _FIRST):
            yield PlannedItem(day, ItemKind.SESSION, ordinal, titled(s.minutes), text(s.minutes), link, before, _begins_at(s), s.minutes)


def _begins_at(session: PlannedSession) -> datetime:
    """An instant of UTC: no calendar can take it for another one."""
    return session.start_at.astimezone(UTC)


def _is_done(facts: FeedFacts, day: date, minutes: int) -> bool:
    worn = day_wear(facts.entries, day)
    return worn.received_minutes + worn.without_correction_minutes >= minutes


def _care(facts: FeedFacts, day: date, style: FeedStyle, words: FeedWords, link: str) -> Iterator[PlannedItem]:
    """One item for a day's visits and one for all its other care: some clients take two that say the same for one, and the page behind the link says more."""
    shown = [item for item in facts.care if item.on == day and style.shows(item)]
    visits = [item for item in shown if item.kind is CareKind.VISIT]
    if len(visits) < len(shown) or drop_due(facts.revisions, day):
        yield PlannedItem(day, ItemKind.CARE, _FIRST, style.titled(words.care), link, link, style.alarm_minutes)
    if visits:
        yield PlannedItem(day, ItemKind.VISIT, _FIRST, style.titled(words.visit), link, link, style.alarm_minutes)


def closed_items(revoked_on: date, label: str) -> tuple[PlannedItem, ...]:
    """All that a revoked feed says: one day, so that the plan leaves the phone before the address stops answering."""
    return (PlannedItem(revoked_on, ItemKind.CLOSED, _FIRST, label, ""),)


def moved_items(moved_on: date, label: str) -> tuple[PlannedItem, ...]:
    """All that an address says which was given up for another."""
    return (PlannedItem(moved_on, ItemKind.MOVED, _FIRST, label, ""),)
