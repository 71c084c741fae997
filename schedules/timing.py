"""What a timer that somebody started says: until when it can be believed, and which naps lie in it."""

from datetime import datetime, timedelta

from schedules.day import ClockDay
from schedules.local_time import instant
from schedules.routine import ResolvedDay

MARGIN = timedelta(hours=1)  # common practice: a little longer than asked is meant, hours longer is a timer that was forgotten
SHORTEST = timedelta(minutes=1)

Span = tuple[datetime, datetime]


def believed_until(started_at: datetime, prescribed_minutes: int, resolved: ResolvedDay) -> datetime:
    """The latest end that is taken without asking: the day's minutes and an hour more, and never past bedtime or the end of the date."""
    longest = started_at + timedelta(minutes=prescribed_minutes) + MARGIN
    return max(started_at, min(longest, bedtime(resolved)))


def bedtime(resolved: ResolvedDay) -> datetime:
    """As the family has described it, else the midnight that ends the date."""
    minutes = resolved.day.sleep_minutes if isinstance(resolved.day, ClockDay) else 24 * 60
    return instant(resolved.on, minutes, resolved.zone)


def naps_within(span: Span, resolved: ResolvedDay) -> tuple[Span, ...]:
    """The parts of the family's naps that lie in a span: the patch is off in sleep."""
    if not isinstance(resolved.day, ClockDay):
        return ()
    start, end = span
    naps = [(instant(resolved.on, nap.start_minutes, resolved.zone), instant(resolved.on, nap.end_minutes, resolved.zone)) for nap in resolved.day.naps]
    return tuple((max(a, start), min(b, end)) for a, b in naps if a < end and start < b)


def less(span: Span, cut: tuple[Span, ...]) -> tuple[Span, ...]:
    """What is left of a span without the parts that are cut out of it, each of a minute or more."""
    start, end = span
    left: list[Span] = []
    for a, b in sorted(cut):
        left.append((start, a))
        start = max(start, b)
    left.append((start, end))
    return tuple((a, b) for a, b in left if b - a >= SHORTEST)
