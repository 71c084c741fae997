"""Seven days of a household with what was planned into them: bars from waking to sleeping, and a table behind them."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from schedules.day import AwakeDay, ClockDay, Place, clock, without_room
from schedules.household import Household
from schedules.planner import PlannedDay, PlannedSession
from schedules.regimen import prescribed_minutes
from schedules.routine import DAYS_A_WEEK, Day
from service.i18n import Words
from service.views.case import Case
from service.views.planned import plan_for
from service.views.plates import Box, Label, near
from shared.findings import Finding

ROW, BAR, LEFT, RIGHT, FOOT = 34.0, 20.0, 44.0, 6.0, 20.0
WIDTH = 360.0
HOURS = 3  # from one figure of the axis to the next


@dataclass(frozen=True)
class DayBar:
    label: Label
    awake: Box | None
    free: tuple[Box, ...]
    sessions: tuple[Box, ...]
    text: Label | None  # what stands in place of a bar
    short: Box | None  # a mark at the end of a day that cannot hold its minutes
    title: str


@dataclass(frozen=True)
class DayRow:
    on: date
    prescribed: str
    placed: str
    sessions: tuple[str, ...]
    free: str
    short: str  # "" where all of it fits


@dataclass(frozen=True)
class RoutineWeek:
    title: str
    desc: str
    width: float
    height: float
    bars: tuple[DayBar, ...]
    hours: tuple[Label, ...]
    rows: tuple[DayRow, ...]
    findings: tuple[Finding, ...]


@dataclass(frozen=True)
class _Planned:
    prescribed_minutes: int
    day: Day | None
    off: bool
    planned: PlannedDay


def view(c: Case, household: Household, first_on: date, tried_minutes: int | None, words: Words) -> RoutineWeek:
    """With the signed minutes of each date, or with minutes that are tried."""
    found = tuple(_planned(c, household, first_on + timedelta(days=n), tried_minutes) for n in range(DAYS_A_WEEK))
    clocked = [p.day for p in found if isinstance(p.day, ClockDay)]
    early = min((day.wake_minutes for day in clocked), default=6 * 60) // 60
    late = -(-max((day.sleep_minutes for day in clocked), default=21 * 60) // 60)
    rows = tuple(_row(p, words) for p in found)
    bars = tuple(_bar(n, p, early, late, row, words) for n, (p, row) in enumerate(zip(found, rows, strict=True)))
    figures = tuple(Label(_x(hour * 60, early, late), ROW * DAYS_A_WEEK + 14, str(hour)) for hour in range(-(-early // HOURS) * HOURS, late + 1, HOURS))
    return RoutineWeek(
        title=words.gettext("The week from %(on)s") % {"on": words.date(first_on)},
        desc="; ".join(bar.title for bar in bars),
        width=WIDTH,
        height=ROW * DAYS_A_WEEK + FOOT,
        bars=bars,
        hours=figures,
        rows=rows,
        findings=_findings(c, found),
    )


def findings(c: Case) -> tuple[Finding, ...]:
    """What the family's days cannot hold of the minutes signed: the seven days from today, or the last seven of a plan that is over."""
    ends_on = c.last_day_of_plan
    first_on = ends_on if ends_on == c.today and c.current else ends_on - timedelta(days=DAYS_A_WEEK - 1)
    return _findings(c, tuple(_planned(c, c.household, first_on + timedelta(days=n), None) for n in range(DAYS_A_WEEK)))


def _planned(c: Case, household: Household, on: date, tried_minutes: int | None) -> _Planned:
    minutes = prescribed_minutes(c.revisions, on) if tried_minutes is None else tried_minutes
    there = household.resolve(on)
    return _Planned(minutes, there.day, there.off, plan_for(c.child, minutes, household, on))


def _findings(c: Case, found: Sequence[_Planned]) -> tuple[Finding, ...]:
    days = dict.fromkeys(p.day for p in found if isinstance(p.day, ClockDay) and p.prescribed_minutes and not p.off)
    every = (*(p.planned.finding for p in found if p.planned.finding), *without_room(days))
    return tuple(f for f in every if f.rule not in c.rules.limits.rules_off)


def _row(p: _Planned, words: Words) -> DayRow:
    planned, missing = p.planned, p.prescribed_minutes - p.planned.minutes
    sessions = tuple(_session(s, words) for s in planned.sessions)
    if planned.all_day_minutes:
        sessions = (words.gettext("%(time)s, at any time") % {"time": words.hours(planned.all_day_minutes)},)
    if isinstance(p.day, AwakeDay):
        free = words.gettext("awake for %(time)s") % {"time": words.hours(p.day.waking_minutes)}
    elif p.day is None:
        free = words.gettext("not told")
    else:
        free = ", ".join(f"{clock(w.start_minutes)}–{clock(w.end_minutes)}" for w in p.day.free())
    return DayRow(
        on=planned.on,
        prescribed=words.gettext("a day off") if p.off else words.hours(p.prescribed_minutes),
        placed=words.hours(planned.minutes),
        sessions=sessions,
        free=free,
        short=words.hours(missing) if planned.finding else "",
    )


def _session(s: PlannedSession, words: Words) -> str:
    times = f"{s.start_at:%H:%M}–{s.end_at:%H:%M}"
    return words.gettext("%(times)s at nursery or school") % {"times": times} if s.where is Place.NURSERY else times


def _x(minutes: int, early: int, late: int) -> float:
    return near(LEFT + (minutes - early * 60) / ((late - early) * 60) * (WIDTH - LEFT - RIGHT))


def _bar(n: int, p: _Planned, early: int, late: int, row: DayRow, words: Words) -> DayBar:
    y = n * ROW + (ROW - BAR) / 2

    def box(start: int, end: int) -> Box:
        x = _x(start, early, late)
        return Box(x, y, near(_x(end, early, late) - x), BAR)

    day = p.day if isinstance(p.day, ClockDay) else None
    said = _said(p, row, words)
    return DayBar(
        label=Label(0, y + 15, words.weekday(p.planned.on)),
        awake=box(day.wake_minutes, day.sleep_minutes) if day else None,
        free=tuple(box(w.start_minutes, w.end_minutes) for w in day.free()) if day else (),
        sessions=tuple(box(start, start + s.minutes) for s in p.planned.sessions for start in (s.start_at.hour * 60 + s.start_at.minute,)),
        text=None if day and not p.off else Label(LEFT, y + 15, said),
        short=Box(WIDTH - RIGHT - 4, y - 3, 8, BAR + 6) if row.short else None,
        title=f"{words.weekday(p.planned.on)}: {said}",
    )


def _said(p: _Planned, row: DayRow, words: Words) -> str:
    if p.off:
        return words.gettext("a day off")
    said = ", ".join(row.sessions) or words.gettext("no patch")
    return words.gettext("%(said)s; %(short)s do not fit") % {"said": said, "short": row.short} if row.short else said
