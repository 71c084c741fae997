"""A family's household as somebody changes it: from a date on, for some dates, or no longer. What lies before today is never touched."""

from collections.abc import Callable, Collection
from dataclasses import replace
from datetime import date, timedelta
from typing import TypeVar

from schedules.day import Weekday
from schedules.household import Home, Household, Rotation, Swap
from schedules.routine import Dates, Day, Holiday, Routine, Week
from shared.errors import ClinicalInputError
from shared.findings import msg

DayMade = Callable[[Weekday, Day | None], Day]  # from the weekday, and the day that it takes the place of
MOST_KEPT = 400  # of each kind of entry: more was not entered by a family
_ONE_DAY = timedelta(days=1)
_D = TypeVar("_D", bound=Dates)


def routine_of(household: Household, caregiver: str | None) -> Routine:
    """The routine of a caregiver's home, empty where it has none of its own; None: the one that holds in every home without one."""
    if caregiver is None:
        return household.routine
    return next((home.routine for home in household.homes if home.caregiver == caregiver and home.routine), Routine(()))


def with_routine(household: Household, caregiver: str | None, routine: Routine) -> Household:
    if caregiver is None:
        return replace(household, routine=routine)
    others = tuple(home for home in household.homes if home.caregiver != caregiver)
    return replace(household, homes=(*others, Home(caregiver, routine)))


def with_days(routine: Routine, from_on: date, weekdays: Collection[Weekday], made: DayMade, *, clock_for_infant: bool | None = None) -> Routine:
    """From a date on these weekdays are other ones, the rest stays (also `clock_for_infant`, where it is None); a week that begins later still begins.

    Raises `ClinicalInputError` naming `weekdays` for a first week with a day that nobody has described.
    """
    before = next((week for week in reversed(routine.weeks) if week.from_on <= from_on), None)
    if before is None and len(weekdays) < len(Weekday):
        raise ClinicalInputError("weekdays", msg("Nothing is known of the other days yet: tick all seven first, then change single ones."))
    kept = before.days if before else (None,) * len(Weekday)
    days = tuple(day if day and weekday not in weekdays else made(weekday, day) for weekday, day in zip(Weekday, kept, strict=True))
    by_clock = clock_for_infant if clock_for_infant is not None else before is not None and before.clock_for_infant
    weeks = [*(week for week in routine.weeks if week.from_on != from_on), Week(from_on, days, by_clock)]
    return replace(routine, weeks=tuple(sorted(weeks, key=lambda week: week.from_on)))


def with_holiday(routine: Routine, first_on: date, last_on: date, weekdays: Collection[Weekday], made: DayMade) -> Routine:
    """On these weekdays of the dates, first and last included, other days hold; the same dates again add to what they hold already."""
    same = next((h for h in routine.holidays if (h.first_on, h.last_on) == (first_on, last_on)), None)
    days = {weekday: replace(day, day=weekday) for day in (same.days if same else ()) for weekday in Weekday if day.day in (weekday, first_on)}
    usual = next((week.days for week in reversed(routine.weeks) if week.from_on <= first_on), None)
    days |= {weekday: made(weekday, days.get(weekday) or (usual[weekday] if usual else None)) for weekday in weekdays}
    holiday = Holiday(first_on, last_on, tuple(days[day] for day in sorted(days)))
    return replace(routine, holidays=(*(h for h in routine.holidays if h is not same), holiday))


def with_rotation(household: Household, rotation: Rotation) -> Household:
    """Each caregiver named has a home from then on. A rotation of the same date is replaced."""
    known = {home.caregiver for home in household.homes}
    new = tuple(Home(caregiver) for caregiver in dict.fromkeys(rotation.caregivers) if caregiver not in known)
    rotations = [*(r for r in household.rotations if r.anchor_on != rotation.anchor_on), rotation]
    return replace(household, homes=(*household.homes, *new), rotations=tuple(sorted(rotations, key=lambda r: r.anchor_on)))


def with_swap(household: Household, swap: Swap) -> Household:
    """A second swap of one date takes the place of the first."""
    return replace(household, swaps=(*(s for s in household.swaps if s.on != swap.on), swap))


def ended(ranges: tuple[_D, ...], first_on: date, today: date) -> tuple[_D, ...]:
    """Without the range that begins on a date, or only with what of it is past. Raises `ClinicalInputError` naming `remove` where there is none."""
    found = next((r for r in ranges if r.first_on == first_on and r.last_on >= today), None)
    if found is None:
        raise ClinicalInputError("remove", msg("Nothing from %(on)s is still to come.", on=first_on))
    kept = (replace(found, last_on=today - _ONE_DAY),) if found.first_on < today else ()
    return tuple(k for r in ranges for k in (kept if r is found else (r,)))


def check_change(before: Household, after: Household, today: date) -> None:
    """Raises `ClinicalInputError` naming `from_on` for a change that alters a date before today, or `household` for more entries than a family makes."""
    entries = (after.rotations, after.swaps, after.days_off, after.journeys, *(part for r in _routines(after) for part in (r.weeks, r.holidays)))
    if max(map(len, entries)) > MOST_KEPT:
        raise ClinicalInputError("household", msg("More than %(most)s entries of one kind cannot be kept.", most=MOST_KEPT))
    first_on = max(after.born_on, min([today, *_dates(before), *_dates(after)]))
    for n in range((today - first_on).days):
        on = first_on + timedelta(days=n)
        if (before.caregiver_on(on), before.resolve(on)) != (after.caregiver_on(on), after.resolve(on)):
            raise ClinicalInputError("from_on", msg("%(on)s lies in the past, which stays as it was; today or later would do.", on=on))


def _routines(household: Household) -> tuple[Routine, ...]:
    return household.routine, *(home.routine for home in household.homes if home.routine)


def _dates(household: Household) -> list[date]:
    """From the first of them on the household says something of a date."""
    ranges = (*household.days_off, *household.journeys)
    weeks = [week.from_on for routine in _routines(household) for week in routine.weeks]
    return [*weeks, *(r.first_on for r in ranges), *(r.anchor_on for r in household.rotations), *(s.on for s in household.swaps)]
