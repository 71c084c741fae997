"""A date's prescribed minutes as sessions in the family's day. A date's sessions depend on that date alone.

The order of what is better is fixed: the largest dose up to the prescribed; then the fewest sessions; then the most minutes in preferred
windows; then the earliest, which compares the starts one by one and, where all are equal, the longer session first. Sessions begin on a grid of
five minutes; each lasts a multiple of five, but the last of the day takes what is left of a dose that is none.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

from schedules.day import MIDNIGHT_MINUTES, STEP_MINUTES, AwakeDay, ClockDay, Place, Window, free_time
from schedules.local_time import instant
from schedules.placing import Stretch, place
from schedules.routine import ResolvedDay
from shared.errors import ClinicalInputError
from shared.findings import Finding, Message, Quantity, Unit, Weight, msg
from shared.vocabulary import Status

_MINUTE = timedelta(minutes=1)


@dataclass(frozen=True)
class PlannedSession:
    """A session from an instant on, aware and in the child's zone of that date. `near_work_minutes` and `screen_free_minutes` lie in such windows."""

    start_at: datetime
    minutes: int
    where: Place
    near_work_minutes: int
    screen_free_minutes: int

    @property
    def end_at(self) -> datetime:
        """After its minutes have passed, whatever the clock did meanwhile."""
        return (self.start_at.astimezone(UTC) + self.minutes * _MINUTE).astimezone(self.start_at.tzinfo)


@dataclass(frozen=True)
class PlannedDay:
    """What a date holds of its dose: sessions, or an amount for the whole day where there are no clock times. `finding` says what does not fit."""

    on: date
    sessions: tuple[PlannedSession, ...] = ()
    all_day_minutes: int = 0
    finding: Finding | None = None

    @property
    def minutes(self) -> int:
        return self.all_day_minutes + sum(session.minutes for session in self.sessions)


def plan_day(prescribed_minutes: int, resolved: ResolvedDay) -> PlannedDay:
    """The sessions of one date. A day off has none and moves nothing to another date; a day nobody described has the whole amount.

    Raises `ClinicalInputError` naming `prescribed_minutes` for minutes that no day has.
    """
    if prescribed_minutes not in range(MIDNIGHT_MINUTES + 1):
        raise ClinicalInputError("prescribed_minutes", msg("%(minutes)s minutes are in no day.", minutes=str(prescribed_minutes)))
    on, day = resolved.on, resolved.day
    if resolved.off or not prescribed_minutes:
        return PlannedDay(on)
    if day is None:
        return PlannedDay(on, all_day_minutes=prescribed_minutes)
    if isinstance(day, AwakeDay):
        held = min(prescribed_minutes, day.waking_minutes)
        awake = msg("awake for %(awake)s", awake=Quantity(day.waking_minutes, Unit.MINUTES))
        return PlannedDay(on, all_day_minutes=held, finding=_too_short(on, prescribed_minutes, held, (awake,)))
    sessions = _sessions(prescribed_minutes, resolved, day)
    held = sum(session.minutes for session in sessions)
    shortest = Quantity(day.shortest_session_minutes, Unit.MINUTES)
    limits = msg("at most %(most)s sessions of %(shortest)s or more", most=day.most_sessions, shortest=shortest)
    return PlannedDay(on, sessions, finding=_too_short(on, prescribed_minutes, held, (*free_time(day), limits)))


def _too_short(on: date, prescribed_minutes: int, held_minutes: int, working: tuple[Message, ...]) -> Finding | None:
    if held_minutes == prescribed_minutes:
        return None
    missing = Quantity(prescribed_minutes - held_minutes, Unit.MINUTES)
    text = msg(
        "%(on)s holds %(held)s of the prescribed %(prescribed)s: %(missing)s do not fit into the day as the family described it.",
        on=on,
        held=Quantity(held_minutes, Unit.MINUTES),
        prescribed=Quantity(prescribed_minutes, Unit.MINUTES),
        missing=missing,
    )
    family = msg("Not all of the time fits into the day as you described it. What was prescribed has not changed: please tell the clinic.")
    return Finding("day-too-short", text, Status.COMMON_PRACTICE, value=missing, working=working, weight=Weight.CHECK, family=family)


def _sessions(prescribed_minutes: int, resolved: ResolvedDay, day: ClockDay) -> tuple[PlannedSession, ...]:
    preferred, near_work, screen_free = (_passed(sorted(w, key=_start), resolved) for w in (day.preferred, day.near_work, day.screen_free))
    wished = {slot for start, end in preferred for slot in range(start // STEP_MINUTES, end // STEP_MINUTES)}
    free, where = day.free(), {}
    for window, (start, end) in zip(free, _passed(free, resolved), strict=True):
        slots = range(start // STEP_MINUTES, end // STEP_MINUTES)
        if slots:
            where[Stretch(slots.start, tuple(slot in wished for slot in slots))] = window.where
    midnight_at = instant(resolved.on, 0, resolved.zone)
    sessions = []
    for slot, minutes in place(list(where), prescribed_minutes, day.shortest_session_minutes, day.most_sessions):
        start = slot * STEP_MINUTES
        sessions.append(
            PlannedSession(
                (midnight_at + start * _MINUTE).astimezone(resolved.zone),
                minutes,
                next(where[stretch] for stretch in where if 0 <= slot - stretch.start < stretch.slots),
                _shared_minutes(near_work, start, start + minutes),
                _shared_minutes(screen_free, start, start + minutes),
            )
        )
    return tuple(sessions)


def _passed(windows: Iterable[Window], resolved: ResolvedDay) -> list[tuple[int, int]]:
    """Start and end of each window in the minutes that really pass since the date's midnight, so that a window in which the clock changes is as much shorter
    or longer as the change makes it. What begins at a time that the clock skips begins later, and what follows never before that.
    """
    midnight_at = instant(resolved.on, 0, resolved.zone)
    found, until = [], 0
    for window in windows:
        start, end = ((instant(resolved.on, wall, resolved.zone) - midnight_at) // _MINUTE for wall in (window.start_minutes, window.end_minutes))
        start = max(start, until)
        until = max(start, end)
        found.append((start, until))
    return found


def _start(window: Window) -> int:
    return window.start_minutes


def _shared_minutes(windows: Iterable[tuple[int, int]], start: int, end: int) -> int:
    return sum(max(0, min(end, window_end) - max(start, window_start)) for window_start, window_end in windows)
