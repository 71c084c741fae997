"""What a caregiver is reminded of on a date, and when: worked out from that date's facts and the caregiver's wishes alone."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from enum import StrEnum
from itertools import accumulate
from zoneinfo import ZoneInfo

from schedules.day import MIDNIGHT_MINUTES
from schedules.feed_style import EARLIEST_REMINDER_MINUTES, LAST_MINUTE_OF_A_DAY
from schedules.local_time import instant
from schedules.planner import PlannedDay
from shared.errors import ClinicalInputError
from shared.findings import msg

SESSION_LASTS = timedelta(hours=1)  # common practice: an hour after its time a reminder is noise
VISIT_DAYS_BEFORE = 2
END_DAYS_BEFORE = 7


class ReminderKind(StrEnum):
    """Part of a message's identity: never rename a value."""

    SESSION = "session"
    EVENING = "evening"  # nothing is noted for the day yet
    CARE = "care"
    REVIEW = "review"
    PLAN_CHANGED = "plan-changed"
    PLAN_PAUSED = "plan-paused"
    PLAN_STOPPED = "plan-stopped"

    @property
    def essential(self) -> bool:
        """Whether no wish silences it: a patch that goes on after a pause or a stop may harm."""
        return self in (ReminderKind.PLAN_PAUSED, ReminderKind.PLAN_STOPPED)

    @property
    def of_plan(self) -> bool:
        """Whether a signature causes it, and not a date."""
        return self.value.startswith("plan-")


CHOSEN = tuple(kind for kind in ReminderKind if not kind.essential)  # those a caregiver may do without


@dataclass(frozen=True)
class Wishes:
    """Minutes of the clock count from midnight. `day_minutes` is the hour of what has none of its own; quiet hours may cross midnight.

    Raises `ClinicalInputError` naming the field.
    """

    kinds: frozenset[ReminderKind] = frozenset(CHOSEN)
    lead_minutes: int = 15
    day_minutes: int = 8 * 60
    evening_minutes: int = 19 * 60
    quiet_from_minutes: int = 21 * 60
    quiet_until_minutes: int = 7 * 60

    def __post_init__(self) -> None:
        if not 0 <= self.lead_minutes <= EARLIEST_REMINDER_MINUTES:
            raise ClinicalInputError(
                "lead_minutes", msg("%(minutes)s minutes cannot be; 0 to %(most)s would.", minutes=str(self.lead_minutes), most=EARLIEST_REMINDER_MINUTES)
            )
        for field in ("day_minutes", "evening_minutes", "quiet_from_minutes", "quiet_until_minutes"):
            if not 0 <= getattr(self, field) <= LAST_MINUTE_OF_A_DAY:
                raise ClinicalInputError(field, msg("A time of day lies between 00:00 and 23:59."))

    def wants(self, kind: ReminderKind) -> bool:
        return kind.essential or kind in self.kinds

    def after_quiet(self, at: datetime, zone: ZoneInfo) -> datetime:
        """The instant itself, or the end of the quiet hours in which it lies."""
        local = at.astimezone(zone)
        minutes, begins, ends = local.hour * 60 + local.minute, self.quiet_from_minutes, self.quiet_until_minutes
        overnight = begins > ends
        if not (minutes >= begins or minutes < ends if overnight else begins <= minutes < ends):
            return at
        tomorrow = overnight and minutes >= begins
        return instant(local.date() + timedelta(days=tomorrow), ends, zone)


@dataclass(frozen=True)
class DayToRemind:
    """One date's facts. `noted_minutes` None: nothing is noted; `noted_none`: that none was worn. `tasks` counts what of care falls to the family."""

    planned: PlannedDay
    zone: ZoneInfo
    noted_minutes: int | None = None
    noted_none: bool = False
    tasks: int = 0
    visit_on: date | None = None  # a booked visit some days ahead
    ends_on: date | None = None  # the plan runs out some days ahead, and no visit is booked


@dataclass(frozen=True)
class Reminder:
    """`minutes` and `start_at` are a session's, `about_on` the date of a visit or of a plan's end; whichever has none is None or 0."""

    kind: ReminderKind
    on: date
    ordinal: int
    due_at: datetime
    expires_at: datetime
    minutes: int = 0
    start_at: datetime | None = None
    about_on: date | None = None


def reminders(day: DayToRemind, wishes: Wishes) -> tuple[Reminder, ...]:
    """In the order in which they come due; what falls into quiet hours comes after them, or not at all where it would come too late."""
    found = []
    for reminder in _all(day, wishes):
        due_at = wishes.after_quiet(reminder.due_at, day.zone)
        if wishes.wants(reminder.kind) and due_at < reminder.expires_at:
            found.append(replace(reminder, due_at=due_at))
    return tuple(sorted(found, key=lambda r: (r.due_at, r.kind, r.ordinal)))


def _all(day: DayToRemind, wishes: Wishes) -> Iterator[Reminder]:
    on = day.planned.on
    by_day, evening, midnight = (instant(on, m, day.zone) for m in (wishes.day_minutes, wishes.evening_minutes, MIDNIGHT_MINUTES))
    if not day.noted_none:
        yield from _sessions(day, wishes, midnight)
    if day.planned.minutes and day.noted_minutes is None:
        yield Reminder(ReminderKind.EVENING, on, 0, evening, midnight)
    if day.tasks:
        yield Reminder(ReminderKind.CARE, on, 0, by_day, midnight)
    for ordinal, about_on in enumerate((day.visit_on, day.ends_on)):
        if about_on is not None:
            yield Reminder(ReminderKind.REVIEW, on, ordinal, by_day, midnight, about_on=about_on)


def _sessions(day: DayToRemind, wishes: Wishes, midnight: datetime) -> Iterator[Reminder]:
    """Those that what is noted does not cover yet, the earliest first."""
    planned, noted = day.planned, day.noted_minutes or 0
    covered = accumulate(session.minutes for session in planned.sessions)
    for ordinal, (session, until_then) in enumerate(zip(planned.sessions, covered, strict=True), 1):
        start_at = session.start_at.astimezone(UTC)
        if noted < until_then:
            due_at = start_at - timedelta(minutes=wishes.lead_minutes)
            yield Reminder(ReminderKind.SESSION, planned.on, ordinal, due_at, start_at + SESSION_LASTS, session.minutes, session.start_at)
    if noted < planned.all_day_minutes:
        yield Reminder(ReminderKind.SESSION, planned.on, 0, instant(planned.on, wishes.day_minutes, day.zone), midnight, planned.all_day_minutes)
