"""One day of a family: on the clock, or as stretches awake where naps still move.

Times are minutes after local midnight in steps of five, windows are half-open. A day ends at 24:00: a later bedtime is entered as 24:00,
since nothing is ever planned past midnight.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from enum import IntEnum, StrEnum
from itertools import pairwise, product

from shared.errors import ClinicalInputError
from shared.findings import Finding, Message, Param, Quantity, Unit, Weight, msg
from shared.vocabulary import Status

STEP_MINUTES = 5
MIDNIGHT_MINUTES = 24 * 60
MOST_SESSIONS_A_DAY = 12  # common practice: more than a dozen times a day no patch is put on


class Weekday(IntEnum):
    """As `date.weekday()` counts them."""

    MONDAY = 0
    TUESDAY = 1
    WEDNESDAY = 2
    THURSDAY = 3
    FRIDAY = 4
    SATURDAY = 5
    SUNDAY = 6


_NAMES = (msg("Monday"), msg("Tuesday"), msg("Wednesday"), msg("Thursday"), msg("Friday"), msg("Saturday"), msg("Sunday"))


class Place(StrEnum):
    """Where a session is worn, and so who puts the patch on."""

    HOME = "home"
    NURSERY = "nursery"


@dataclass(frozen=True)
class Window:
    """A stretch of a day. The day that holds it checks it, since only the day can say which one it is."""

    start_minutes: int
    end_minutes: int


@dataclass(frozen=True)
class Stay(Window):
    """At nursery or school, which either sees to the patch or does not."""

    patches: bool


@dataclass(frozen=True)
class NamedWindow(Window):
    """A fixed activity or a time when patching is unwelcome, in the family's own words."""

    words: str


@dataclass(frozen=True)
class FreeWindow(Window):
    """Where a session may lie."""

    where: Place


@dataclass(frozen=True)
class ClockDay:
    """A day by the clock; `day` is the weekday it describes, or the date from which it stands in for others.

    Windows of one kind never overlap; a nap or an activity lies wholly inside nursery or school or wholly outside; what is preferred is not
    also unwelcome. Raises `ClinicalInputError` naming the field, with the day and the hour in its message.
    """

    day: Weekday | date
    wake_minutes: int
    sleep_minutes: int
    most_sessions: int
    shortest_session_minutes: int
    gap_before_bed_minutes: int = 0
    naps: tuple[Window, ...] = ()
    nursery: tuple[Stay, ...] = ()
    activities: tuple[NamedWindow, ...] = ()
    unwelcome: tuple[NamedWindow, ...] = ()
    preferred: tuple[Window, ...] = ()
    near_work: tuple[Window, ...] = ()
    screen_free: tuple[Window, ...] = ()

    def __post_init__(self) -> None:
        self._check_waking()
        self._check_limits()
        for field in ("naps", "nursery", "activities", "unwelcome", "preferred", "near_work", "screen_free"):
            windows: tuple[Window, ...] = getattr(self, field)
            for window in windows:
                self._check_inside(field, window)
            for earlier, later in pairwise(sorted(windows, key=_start)):
                self._check_apart(field, earlier, later)
        self._check_together()
        if not self.awake_stretches:
            raise ClinicalInputError("naps", msg("%(day)s: the naps leave no time awake.", day=named(self.day)))

    def _check_waking(self) -> None:
        self._check_time("wake_minutes", self.wake_minutes)
        self._check_time("sleep_minutes", self.sleep_minutes)
        if self.sleep_minutes <= self.wake_minutes:
            raise ClinicalInputError(
                "sleep_minutes",
                msg(
                    "%(day)s: sleep at %(sleep)s comes before waking at %(wake)s. A bedtime after midnight is entered as 24:00.",
                    day=named(self.day),
                    sleep=clock(self.sleep_minutes),
                    wake=clock(self.wake_minutes),
                ),
            )

    def _check_limits(self) -> None:
        awake = self.sleep_minutes - self.wake_minutes
        limits = (
            ("most_sessions", self.most_sessions, 1, MOST_SESSIONS_A_DAY, 1),
            ("shortest_session_minutes", self.shortest_session_minutes, STEP_MINUTES, awake, STEP_MINUTES),
            ("gap_before_bed_minutes", self.gap_before_bed_minutes, 0, awake, STEP_MINUTES),
        )
        for field, value, low, high, step in limits:
            if value not in range(low, high + 1, step):
                raise ClinicalInputError(
                    field,
                    msg(
                        "%(day)s, awake from %(wake)s to %(sleep)s: %(value)s cannot be. Give %(low)s to %(high)s in steps of %(step)s.",
                        day=named(self.day),
                        wake=clock(self.wake_minutes),
                        sleep=clock(self.sleep_minutes),
                        value=str(value),
                        low=low,
                        high=high,
                        step=step,
                    ),
                )

    def _check_time(self, field: str, minutes: int) -> None:
        if minutes not in range(0, MIDNIGHT_MINUTES + 1, STEP_MINUTES):
            raise ClinicalInputError(
                field,
                msg(
                    "%(day)s: %(time)s is no time of this day. Give 00:00 to 24:00 in steps of five minutes.",
                    day=named(self.day),
                    time=clock(minutes) if minutes in range(100 * 60) else str(minutes),  # what was typed, however late
                ),
            )

    def _check_inside(self, field: str, window: Window) -> None:
        self._check_time(field, window.start_minutes)
        self._check_time(field, window.end_minutes)
        if window.end_minutes <= window.start_minutes:
            start, end = clock(window.start_minutes), clock(window.end_minutes)
            raise ClinicalInputError(field, msg("%(day)s: %(start)s to %(end)s ends before it begins.", day=named(self.day), start=start, end=end))
        if not _inside(window, Window(self.wake_minutes, self.sleep_minutes)):
            raise ClinicalInputError(
                field,
                msg(
                    "%(day)s: %(start)s to %(end)s lies outside the day, %(wake)s to %(sleep)s.",
                    day=named(self.day),
                    start=clock(window.start_minutes),
                    end=clock(window.end_minutes),
                    wake=clock(self.wake_minutes),
                    sleep=clock(self.sleep_minutes),
                ),
            )

    def _check_together(self) -> None:
        for field in ("naps", "activities"):
            for stay, window in product(self.nursery, getattr(self, field)):
                if not _inside(window, stay):
                    self._check_apart(field, stay, window)
        for field, others in (("activities", self.naps), ("preferred", self.unwelcome)):
            for other, window in product(others, getattr(self, field)):
                self._check_apart(field, other, window)

    def _check_apart(self, field: str, one: Window, other: Window) -> None:
        if one.start_minutes < other.end_minutes and other.start_minutes < one.end_minutes:
            raise ClinicalInputError(
                field,
                msg(
                    "%(day)s: %(start)s to %(end)s and %(other_start)s to %(other_end)s overlap.",
                    day=named(self.day),
                    start=clock(one.start_minutes),
                    end=clock(one.end_minutes),
                    other_start=clock(other.start_minutes),
                    other_end=clock(other.end_minutes),
                ),
            )

    @property
    def waking_minutes(self) -> int:
        return sum(self.awake_stretches)

    @property
    def awake_stretches(self) -> tuple[int, ...]:
        """Lengths awake in minutes: from waking to the first nap, between naps, and to bedtime."""
        return tuple(w.end_minutes - w.start_minutes for w in _cut(Window(self.wake_minutes, self.sleep_minutes), self.naps))

    def free(self) -> tuple[FreeWindow, ...]:
        """Where a session may lie, in order: awake, before the gap to bedtime, in no activity, at no unwelcome time and in no place that does not patch."""
        until = self.sleep_minutes - self.gap_before_bed_minutes
        never = (*self.naps, *self.activities, *self.unwelcome)
        at_home = [FreeWindow(w.start_minutes, w.end_minutes, Place.HOME) for w in _cut(Window(self.wake_minutes, until), (*never, *self.nursery))]
        at_nursery = [
            FreeWindow(w.start_minutes, w.end_minutes, Place.NURSERY)
            for stay in self.nursery
            if stay.patches
            for w in _cut(Window(stay.start_minutes, min(stay.end_minutes, until)), never)
        ]
        return tuple(sorted((*at_home, *at_nursery), key=_start))


@dataclass(frozen=True)
class AwakeDay:
    """A day without clock times: the lengths of the stretches awake, in minutes. Raises `ClinicalInputError` naming `awake_stretches`."""

    day: Weekday | date
    awake_stretches: tuple[int, ...]

    def __post_init__(self) -> None:
        awake = self.awake_stretches
        if not awake or any(minutes not in range(STEP_MINUTES, MIDNIGHT_MINUTES + 1) for minutes in awake) or sum(awake) > MIDNIGHT_MINUTES:
            raise ClinicalInputError(
                "awake_stretches",
                msg(
                    "%(day)s: give each stretch awake in minutes, %(least)s or more, together at most %(most)s hours.",
                    day=named(self.day),
                    least=STEP_MINUTES,
                    most=MIDNIGHT_MINUTES // 60,
                ),
            )

    @property
    def waking_minutes(self) -> int:
        return sum(self.awake_stretches)


def without_room(days: Iterable[ClockDay]) -> tuple[Finding, ...]:
    """A finding for each day that has no room for a single session of the shortest useful length."""
    return tuple(_no_room(day) for day in days if max((w.end_minutes - w.start_minutes for w in day.free()), default=0) < day.shortest_session_minutes)


def _no_room(day: ClockDay) -> Finding:
    shortest = Quantity(day.shortest_session_minutes, Unit.MINUTES)
    text = msg(
        "%(day)s: between %(wake)s and %(sleep)s there is no room for a single session of %(shortest)s.",
        day=named(day.day),
        wake=clock(day.wake_minutes),
        sleep=clock(day.sleep_minutes),
        shortest=shortest,
    )
    return Finding("day-without-room", text, Status.COMMON_PRACTICE, value=shortest, working=free_time(day), weight=Weight.CHECK)


def free_time(day: ClockDay) -> tuple[Message, ...]:
    """A step of working for each window in which a session may lie."""
    return tuple(msg("free from %(start)s to %(end)s", start=clock(w.start_minutes), end=clock(w.end_minutes)) for w in day.free())


def named(day: Weekday | date) -> Param:
    """The day as a message shows it."""
    return _NAMES[day] if isinstance(day, Weekday) else day


def clock(minutes: int) -> str:
    """Minutes after midnight as the wall shows them, 24:00 for the end of a day."""
    return f"{minutes // 60:02d}:{minutes % 60:02d}"


def _start(window: Window) -> int:
    return window.start_minutes


def _inside(window: Window, other: Window) -> bool:
    return other.start_minutes <= window.start_minutes and window.end_minutes <= other.end_minutes


def _cut(whole: Window, closed: Iterable[Window]) -> Iterator[Window]:
    """What is left of a window where others are closed, in order."""
    start = whole.start_minutes
    for block in sorted(closed, key=_start):
        if start < min(block.start_minutes, whole.end_minutes):
            yield Window(start, min(block.start_minutes, whole.end_minutes))
        start = max(start, block.end_minutes)
    if start < whole.end_minutes:
        yield Window(start, whole.end_minutes)
