"""One date of one caregiver's child, as far as reminders ask for it."""

from datetime import date, timedelta
from zoneinfo import ZoneInfo

from schedules.adherence import Span, counted, day_wear
from schedules.care_words import CareKind, DoneBy
from schedules.feed_style import FeedStyle
from schedules.regimen import drop_due, in_force
from schedules.reminders import END_DAYS_BEFORE, VISIT_DAYS_BEFORE, DayToRemind
from service.views.care import care_items_of
from service.views.case import Case
from service.views.planned import planned_day
from shared.vocabulary import BookingKind, BookingState

_DAY = timedelta(days=1)


def day_to_remind(c: Case, style: FeedStyle, on: date) -> DayToRemind:
    """Of care, what the caregiver's calendar shows too: both are one choice."""
    entries = [e for e in counted(c.entries) if e.local_on == on]
    worn = day_wear(entries, on)
    return DayToRemind(
        planned=planned_day(c, on),
        zone=ZoneInfo(c.child.zone_on(on)),
        noted_minutes=sum(e.minutes for e in entries) if entries else None,
        noted_none=worn.nothing_worn,
        tasks=_tasks(c, style, on) + drop_due(c.revisions, on),
        visit_on=_visit_on(c, on + timedelta(days=VISIT_DAYS_BEFORE)),
        ends_on=_ends_on(c, on, on + timedelta(days=END_DAYS_BEFORE)),
    )


def _tasks(c: Case, style: FeedStyle, on: date) -> int:
    """Lens or glasses on comes with every day and is no task of its own."""
    items = care_items_of(c, Span(on, on + _DAY)) if style.care else ()
    return sum(i.kind.done_by is DoneBy.FAMILY and i.kind is not CareKind.CORRECTION_ON and style.shows(i) and i.met_on is None for i in items)


def _visit_on(c: Case, on: date) -> date | None:
    return next((b.on for b in c.bookings if b.state is BookingState.BOOKED and b.on == on), None)


def _ends_on(c: Case, on: date, ends_on: date) -> date | None:
    regimen = in_force(c.revisions, on)
    ends = regimen is not None and regimen.review_on == ends_on and in_force(c.revisions, ends_on) is None
    return ends_on if ends and c.booked(BookingKind.REVIEW) is None else None
