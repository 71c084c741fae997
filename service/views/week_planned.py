"""Seven days as a family's routine and the dose of each date make them: bars, the table behind, and what does not fit."""

from dataclasses import dataclass
from datetime import date, timedelta

from schedules.day import AwakeDay, ClockDay, Place, clock, without_room
from schedules.household import Household
from schedules.planner import PlannedDay, plan_day
from schedules.regimen import prescribed_minutes
from schedules.routine import ResolvedDay
from service.i18n import Words
from service.views.case import Case
from service.views.day_bars import DayBars, DayLaid, day_bars, span_of
from service.views.planned import off_findings, together
from service.views.shown import FindingShown, finding_shown
from shared.dates import DAYS_A_WEEK
from shared.findings import msg


@dataclass(frozen=True)
class DayRow:
    on: date
    awake: str
    at: str  # whose home, "" where there is but one
    sessions: tuple[str, ...]
    prescribed: str
    held: str
    missing: str  # "" where all of it fits


@dataclass(frozen=True)
class WeekPlanned:
    chart: DayBars
    rows: tuple[DayRow, ...]
    findings: tuple[FindingShown, ...]  # of rules that the clinic has not switched off
    any_dose: bool


def week_planned(c: Case, household: Household, first_on: date, tried_minutes: int | None, words: Words) -> WeekPlanned:
    """From a date on; `tried_minutes` in place of what is signed, to see what would fit."""
    days = [first_on + timedelta(days=n) for n in range(DAYS_A_WEEK)]
    doses = [prescribed_minutes(c.revisions, on) if tried_minutes is None else tried_minutes for on in days]
    resolved = [household.resolve(on) for on in days]
    planned = [plan_day(minutes, r) for minutes, r in zip(doses, resolved, strict=True)]
    names = {s.public_id: s.caregiver for s in c.subscriptions}
    homes = [names.get(household.caregiver_on(on) or "", "") for on in days]
    rows = tuple(_row(*of_day, words) for of_day in zip(doses, resolved, planned, homes, strict=True))
    laid = [DayLaid(r, p, words.weekday(r.on), _said(row, words), _beside(row, words)) for r, p, row in zip(resolved, planned, rows, strict=True)]
    rooms = without_room({day.day: day for r in resolved if isinstance(day := r.day, ClockDay)}.values())
    found = (*together(p.finding for p in planned if p.finding), *together(rooms), *off_findings(c, household))
    shown = tuple(finding_shown(f, words) for f in found if f.rule not in c.rules.limits.rules_off)
    return WeekPlanned(day_bars(laid, words.text(msg("Seven days from %(on)s", on=first_on))), rows, shown, any(doses))


def _row(minutes: int, r: ResolvedDay, planned: PlannedDay, home: str, words: Words) -> DayRow:
    sessions = [_session(span_of(s), s.where, words) for s in planned.sessions]
    if planned.all_day_minutes:
        sessions.append(words.text(msg("%(time)s, at any time awake", time=words.hours(planned.all_day_minutes))))
    short = planned.finding is not None
    return DayRow(
        on=r.on,
        awake=_awake(r, words),
        at=home,
        sessions=tuple(sessions),
        prescribed=words.hours(minutes) if minutes else "–",
        held=words.hours(planned.minutes) if planned.minutes else "–",
        missing=words.hours(minutes - planned.minutes) if short else "",
    )


def _session(span: str, where: Place, words: Words) -> str:
    return words.text(msg("%(span)s at nursery or school", span=span)) if where is Place.NURSERY else span


def _awake(r: ResolvedDay, words: Words) -> str:
    if r.off:
        return words.gettext("a day off")
    match r.day:
        case ClockDay(wake_minutes=wake, sleep_minutes=sleep):
            return f"{clock(wake)}–{clock(sleep)}"
        case AwakeDay(awake_stretches=awake):
            return words.text(msg("awake for %(stretches)s", stretches=" + ".join(words.hours(minutes) for minutes in awake)))
    return words.gettext("not described")


def _beside(row: DayRow, words: Words) -> str:
    """What stands beside a bar."""
    if row.missing:
        return words.text(msg("−%(time)s", time=row.missing))
    return row.held if row.held != "–" else ""


def _said(row: DayRow, words: Words) -> str:
    parts = [words.long_date(row.on), row.awake, *row.sessions]
    if row.missing:
        parts.append(words.text(msg("%(time)s do not fit", time=row.missing)))
    return ", ".join(parts)
