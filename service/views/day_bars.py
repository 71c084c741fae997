"""Seven days lying above one another on one clock: what is free, what is not, and the sessions in it."""

from collections.abc import Sequence
from dataclasses import dataclass

from schedules.day import MIDNIGHT_MINUTES, ClockDay, Window
from schedules.planner import PlannedDay, PlannedSession
from schedules.routine import ResolvedDay
from service.views.plates import Box, Frame, Label, Tick, near, stripes

FRAMES = (Frame("narrow", 320, 34, 250, 12), Frame("wide", 680, 46, 580, 13))
TOP, ROW, BAR = 20.0, 34.0, 20.0
HOURS_APART = {"narrow": 4, "wide": 2}
_HOUR = 60


@dataclass(frozen=True)
class BarOfDay:
    """One day: its whole time awake, hatched where no patch can be on, filled where a session lies; `short` says what does not fit."""

    title: str
    label: Label
    awake: Box | None
    closed: tuple[str, ...]
    sessions: tuple[Box, ...]
    text: Label
    short: bool


@dataclass(frozen=True)
class DayPlate:
    frame: Frame
    height: float
    bottom: float
    ticks: tuple[Tick, ...]
    bars: tuple[BarOfDay, ...]


@dataclass(frozen=True)
class DayBars:
    title: str
    desc: str
    plates: tuple[DayPlate, ...]


@dataclass(frozen=True)
class DayLaid:
    """A day to draw, with its name, the words that describe it, and the few that stand behind its bar."""

    resolved: ResolvedDay
    planned: PlannedDay
    label: str
    title: str
    text: str


def day_bars(days: Sequence[DayLaid], title: str) -> DayBars:
    clock_days = [d.resolved.day for d in days if isinstance(d.resolved.day, ClockDay)]
    first = min((day.wake_minutes for day in clock_days), default=0) // _HOUR * _HOUR
    last = -(-max((day.sleep_minutes for day in clock_days), default=MIDNIGHT_MINUTES) // _HOUR) * _HOUR
    plates = tuple(_Drawn(frame, first, last).plate(days) for frame in FRAMES)
    return DayBars(title, "; ".join(d.title for d in days), plates)


@dataclass(frozen=True)
class _Drawn:
    frame: Frame
    first: int
    last: int

    def plate(self, days: Sequence[DayLaid]) -> DayPlate:
        bottom = TOP + ROW * len(days)
        hours = range(self.first, self.last + 1, HOURS_APART[self.frame.name] * _HOUR)
        ticks = tuple(Tick(self._x(minutes), str(minutes // _HOUR)) for minutes in hours)
        return DayPlate(self.frame, bottom, bottom - 8, ticks, tuple(self._bar(n, d) for n, d in enumerate(days)))

    def _bar(self, n: int, d: DayLaid) -> BarOfDay:
        day, y = d.resolved.day, TOP + n * ROW
        by_clock = isinstance(day, ClockDay)
        return BarOfDay(
            title=d.title,
            label=Label(0, y + BAR / 2, d.label),
            awake=self._box(Window(day.wake_minutes, day.sleep_minutes), y) if isinstance(day, ClockDay) else None,
            closed=tuple(stripes(self._box(w, y)) for w in _closed(day)) if isinstance(day, ClockDay) else (),
            sessions=tuple(self._box(_on_the_wall(s), y) for s in d.planned.sessions),
            text=Label(self.frame.right + 8 if by_clock else self.frame.left, y + BAR / 2, d.text),
            short=d.planned.finding is not None,
        )

    def _x(self, minutes: int) -> float:
        share = (minutes - self.first) / max(self.last - self.first, 1)
        return near(self.frame.left + share * (self.frame.right - self.frame.left))

    def _box(self, w: Window, y: float) -> Box:
        return Box(self._x(w.start_minutes), y, near(self._x(w.end_minutes) - self._x(w.start_minutes)), BAR)


def _closed(day: ClockDay) -> list[Window]:
    """Awake or in a nap, where no session may lie."""
    free = day.free()
    starts, ends = (day.wake_minutes, *(w.end_minutes for w in free)), (*(w.start_minutes for w in free), day.sleep_minutes)
    return [Window(start, end) for start, end in zip(starts, ends, strict=True) if start < end]


def _on_the_wall(session: PlannedSession) -> Window:
    """As the clock shows it: also on a day on which the clock is changed."""
    start, end = session.start_at, session.end_at
    until = MIDNIGHT_MINUTES if end.date() > start.date() else end.hour * _HOUR + end.minute
    begun = start.hour * _HOUR + start.minute
    return Window(begun, max(until, begun + 1))


def span_of(session: PlannedSession) -> str:
    """From and until on the clock."""
    end = session.end_at
    until = "24:00" if end.date() > session.start_at.date() else f"{end:%H:%M}"
    return f"{session.start_at:%H:%M}–{until}"
