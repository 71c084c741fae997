"""A child's booked visits: what is ahead, what became of the others, and who changed them."""

from dataclasses import dataclass
from datetime import date, datetime

from service.actions.bookings import slip
from service.facts import Child
from service.facts_of_care import Booking
from service.i18n import Words
from service.views.case import Case
from shared.vocabulary import BookingState


@dataclass(frozen=True)
class ChangeLine:
    text: str
    changed_by: str
    changed_at: datetime


@dataclass(frozen=True)
class BookingShown:
    booking: Booking
    kind: str
    state: str
    open: bool  # can still be moved or closed
    history: tuple[ChangeLine, ...]


@dataclass(frozen=True)
class BookingsPage:
    child: Child
    today: date
    ends_on: date | None  # the day on which the plan ends, beside which the visits stand
    slipped: str  # "" where a review is booked up to that day, or nothing ends
    shown: tuple[BookingShown, ...]
    pathway: str


def view(c: Case, pathway: str, words: Words) -> BookingsPage:
    newest = c.newest.regimen if c.newest else None
    return BookingsPage(
        child=c.child,
        today=c.today,
        ends_on=newest.ends_on if newest else None,
        slipped=words.text(text) if c.bookings and (text := slip(c.newest, c.bookings, c.today)) else "",
        shown=tuple(shown(c, b, words) for b in reversed(c.bookings)),
        pathway=pathway,
    )


def shown(c: Case, b: Booking, words: Words) -> BookingShown:
    kept = b.state is BookingState.BOOKED and any(v.on == b.on for v in c.visits)
    past = b.state is BookingState.BOOKED and not kept and b.on < c.today
    state = words.gettext("kept") if kept else words.gettext("the day has passed; nothing is recorded") if past else words.label(b.state)
    return BookingShown(b, words.label(b.kind), state, b.state is BookingState.BOOKED and not kept, tuple(_history(b, words)))


def _history(b: Booking, words: Words) -> list[ChangeLine]:
    lines, before = [], None
    for change in b.changes:
        if before is None:
            text = words.gettext("booked for %(on)s") % {"on": words.date(change.on)}
        elif change.state is BookingState.BOOKED:
            text = words.gettext("moved from %(before)s to %(on)s") % {"before": words.date(before.on), "on": words.date(change.on)}
        else:
            text = words.label(change.state)
        lines.append(ChangeLine(f"{text}: {change.reason}" if change.reason else text, change.changed_by, change.changed_at))
        before = change
    return lines
