"""One person's calendar: who fetched it last, and what stands in it for the next seven days."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from schedules.feed_items import PlannedItem
from service.actions.feed import shown_to
from service.facts import Subscription
from service.i18n import Words
from service.settings import Settings
from service.views.case import Case

AHEAD = 7


@dataclass(frozen=True)
class DayShown:
    on: date
    titles: tuple[str, ...]


@dataclass(frozen=True)
class CalendarPage:
    caregiver: str
    name: str
    fetched: str  # by what and when; "" for never
    days: tuple[DayShown, ...]


def view(settings: Settings, c: Case, subscription: Subscription, spoken: Words, words: Words) -> CalendarPage:
    """The calendar in the words in which it is `spoken`, the page around it in `words`."""
    items = shown_to(settings, subscription, c, spoken)
    days = [c.today + timedelta(days=n) for n in range(AHEAD)]
    return CalendarPage(
        subscription.caregiver,
        subscription.style.name,
        _fetched(c, subscription, words),
        tuple(DayShown(day, _titles(c, [i for i in items if i.on == day], words)) for day in days),
    )


def _titles(c: Case, items: Sequence[PlannedItem], words: Words) -> tuple[str, ...]:
    in_turn = sorted(items, key=lambda i: (i.start_at is not None, i.key))
    return tuple(f"{words.time_of_day(i.start_at, c.household.resolve(i.on).zone)} {i.summary}" if i.start_at else i.summary for i in in_turn)


def _fetched(c: Case, subscription: Subscription, words: Words) -> str:
    if subscription.fetched_at is None:
        return ""
    return f"{words.gettext(subscription.fetched_by or '')}, {words.moment(subscription.fetched_at, c.child.time_zone)}"
