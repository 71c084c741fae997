"""A child's dates as they are planned: the signed minutes of each in the day that its family has described."""

from collections.abc import Iterable
from dataclasses import replace
from datetime import date, timedelta

from schedules.day import ClockDay, without_room
from schedules.household import Household, days_off_ahead
from schedules.planner import PlannedDay, PlannedSession, plan_day
from schedules.regimen import LONGEST_WEEKS, prescribed_minutes
from service.views.case import Case
from shared.dates import DAYS_A_WEEK
from shared.findings import Finding, msg


def planned_day(c: Case, on: date) -> PlannedDay:
    """The signed minutes of a date in the day that its family has described."""
    return plan_day(prescribed_minutes(c.revisions, on), c.household.resolve(on))


def is_off(c: Case, on: date) -> bool:
    """Whether the family told of a day off on a date that has minutes: no page asks for a patch then."""
    return prescribed_minutes(c.revisions, on) > 0 and c.household.resolve(on).off


def clock_span(session: PlannedSession) -> str:
    return f"{session.start_at:%H:%M}–{session.end_at:%H:%M}"


def day_findings(c: Case) -> tuple[Finding, ...]:
    """Of the coming seven days: what does not fit, the worst date first with the others beside it, and a day without room for any session; and days off
    up to the end of what is signed.
    """
    days = [c.today + timedelta(days=n) for n in range(DAYS_A_WEEK)]
    short = [planned.finding for on in days if (planned := planned_day(c, on)).finding]
    resolved = [c.household.resolve(on) for on in days if prescribed_minutes(c.revisions, on)]
    full = without_room({day.day: day for r in resolved if isinstance(day := r.day, ClockDay) and not r.off}.values())
    return (*together(short), *together(full), *off_findings(c, c.household))


def off_findings(c: Case, household: Household) -> tuple[Finding, ...]:
    if not household.days_off:
        return ()
    days = (c.today + timedelta(days=n) for n in range(LONGEST_WEEKS * DAYS_A_WEEK))
    return days_off_ahead(household.days_off, {on: prescribed_minutes(c.revisions, on) for on in days})


def together(found: Iterable[Finding]) -> tuple[Finding, ...]:
    """The weightiest of one rule's findings, the others as a step of its working."""
    by_weight = sorted(found, key=lambda f: -f.value.value if f.value else 0)
    if not by_weight:
        return ()
    first, *others = by_weight
    return (replace(first, working=(*first.working, *(msg("also: %(other)s", other=other.message) for other in others))),)
