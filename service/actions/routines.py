"""Entering what is told about a child's days. Sessions move, the dose never does, and no day that is past is told anew."""

from datetime import date, datetime, timedelta

from sqlmodel import Session

from schedules.household import Household
from service.clock import local_today
from service.errors import ChangedMeanwhileError
from service.facts import Child, Staff, Subscription
from service.store import children, routines, trail
from shared.errors import ClinicalInputError
from shared.findings import msg

_DAY = timedelta(days=1)


def enter(session: Session, child: Child, household: Household, seen: int, by: Staff | Subscription, now: datetime) -> str:
    """The version after the one that was `seen` (0: none).

    Raises `ClinicalInputError` naming `on` where it would change a day before the child's today or name a caregiver without a link,
    `ChangedMeanwhileError` where somebody else was quicker.
    """
    children.facts_changed(session, child.id)
    newest = routines.newest(session, child)
    if (newest.number if newest else 0) != seen:
        raise ChangedMeanwhileError
    check_past(newest.household if newest else routines.untold(child), household, local_today(now, child.time_zone))
    public_id = routines.add(session, child, household, seen + 1, by, now)
    trail.audit(session, child.clinic_id, at=now, who=by.public_id, action="enter-household", subject=public_id, detail={"number": seen + 1})
    return public_id


def check_past(before: Household, after: Household, today: date) -> None:
    """Raises `ClinicalInputError` naming `on`, with the first past day that `after` tells otherwise than `before`."""
    on = max(before.born_on, min((day for told in (before, after) for day in _first_days(told)), default=today))
    while on < today:
        if before.resolve(on) != after.resolve(on) or before.caregiver_on(on) != after.caregiver_on(on):
            raise ClinicalInputError("on", msg("%(on)s is past and stays as it was; today, %(today)s, or later would do.", on=on, today=today))
        on += _DAY


def _first_days(told: Household) -> list[date]:
    """From when something is told."""
    all_routines = (told.routine, *(home.routine for home in told.homes if home.routine))
    weeks = [week.from_on for routine in all_routines for week in routine.weeks]
    ranges = [*told.days_off, *told.journeys, *(holiday for routine in all_routines for holiday in routine.holidays)]
    return [*weeks, *(r.first_on for r in ranges), *(r.anchor_on for r in told.rotations), *(swap.on for swap in told.swaps)]
