"""What a family does on a date: weeks that hold from a date on, holidays, days off and journeys. A newer week never changes a day before it."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from zoneinfo import ZoneInfo

from schedules.day import AwakeDay, ClockDay, Weekday
from schedules.local_time import zone_named
from shared.errors import ClinicalInputError
from shared.findings import msg

CLOCK_FROM_MONTHS = 9  # common practice: until then naps move from week to week

Day = ClockDay | AwakeDay


@dataclass(frozen=True)
class Week:
    """Seven days from Monday on, which hold from `from_on` until the next such week.

    Under nine completed months a day by the clock is read as its stretches awake, unless the family chose `clock_for_infant`. Raises
    `ClinicalInputError` naming `days` where they are not the seven weekdays in order.
    """

    from_on: date
    days: tuple[Day, ...]
    clock_for_infant: bool = False

    def __post_init__(self) -> None:
        if [day.day for day in self.days] != list(Weekday):
            raise ClinicalInputError("days", msg("The week from %(from_on)s needs its seven days, Monday to Sunday, each once.", from_on=self.from_on))


@dataclass(frozen=True)
class Dates:
    """A range of dates, first and last included. Raises `ClinicalInputError` naming `last_on` where it ends before it begins."""

    first_on: date
    last_on: date

    def __post_init__(self) -> None:
        if self.last_on < self.first_on:
            raise ClinicalInputError("last_on", msg("The last day, %(last)s, lies before the first, %(first)s.", last=self.last_on, first=self.first_on))

    def covers(self, on: date) -> bool:
        return self.first_on <= on <= self.last_on


@dataclass(frozen=True)
class Holiday(Dates):
    """Dates on which other days hold: one day for the whole range, which names its first date, or one for each of some weekdays.

    A weekday that is not named stays as it is. Raises `ClinicalInputError` naming `days`.
    """

    days: tuple[Day, ...]

    def __post_init__(self) -> None:
        super().__post_init__()
        names = [day.day for day in self.days]
        if names != [self.first_on] and (not names or len(set(names)) < len(names) or not all(isinstance(name, Weekday) for name in names)):
            raise ClinicalInputError("days", msg("From %(first)s: give one day for the whole range, or some weekdays, each once.", first=self.first_on))

    def day_on(self, on: date) -> Day | None:
        return next((day for day in self.days if day.day in (self.first_on, Weekday(on.weekday()))), None) if self.covers(on) else None


@dataclass(frozen=True)
class DayOff(Dates):
    """Dates without a patch, for illness or sore skin, say: nothing is made up for on another date."""

    words: str


@dataclass(frozen=True)
class Journey(Dates):
    """Dates that a child spends in another zone, its first day and its last included. Raises `ClinicalInputError` for an unknown zone."""

    time_zone: str

    def __post_init__(self) -> None:
        super().__post_init__()
        zone_named(self.time_zone)


@dataclass(frozen=True)
class Routine:
    """The weeks and holidays of one home. Raises `ClinicalInputError` where two weeks begin on one date or two holidays share one."""

    weeks: tuple[Week, ...]
    holidays: tuple[Holiday, ...] = ()

    def __post_init__(self) -> None:
        if any(later.from_on <= earlier.from_on for earlier, later in pairwise(self.weeks)):
            raise ClinicalInputError("weeks", msg("The dates from which the weeks hold must follow one another, each date once."))
        refuse_overlap("holidays", self.holidays)

    def day_on(self, on: date, age_months: int) -> Day | None:
        """The day that holds on a date, for a child of that age in completed months; None before the first week is known."""
        week = next((week for week in reversed(self.weeks) if week.from_on <= on), None)
        if week is None:
            return None
        day = next((day for holiday in self.holidays if (day := holiday.day_on(on))), week.days[on.weekday()])
        if isinstance(day, ClockDay) and age_months < CLOCK_FROM_MONTHS and not week.clock_for_infant:
            return AwakeDay(day.day, day.awake_stretches)
        return day


@dataclass(frozen=True)
class ResolvedDay:
    """All that a date's sessions depend on beside the dose: its zone, its day (None: the family has described none) and whether it is off."""

    on: date
    zone: ZoneInfo
    day: Day | None
    off: bool = False


def refuse_overlap(field: str, ranges: Sequence[Dates]) -> None:
    """Raises `ClinicalInputError` naming `field` where two ranges share a date."""
    for earlier, later in pairwise(sorted(ranges, key=lambda dates: dates.first_on)):
        if later.first_on <= earlier.last_on:
            raise ClinicalInputError(
                field,
                msg("%(first)s to %(last)s has begun before %(earlier)s is over.", first=later.first_on, last=later.last_on, earlier=earlier.last_on),
            )
