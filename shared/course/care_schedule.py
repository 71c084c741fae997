"""When an operated eye is refracted, as three publications did it, and how a check comes round again."""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum
from itertools import chain, count, pairwise, takewhile

from shared.dates import MONTHS_A_YEAR, completed_months, month_on
from shared.errors import ClinicalInputError
from shared.findings import Message, msg
from shared.sources import number, table
from shared.vocabulary import OpticalStatus, Status

# The publications say how often, not from which day on the months are counted: that it is the day of surgery is our reading.
DATES_STATUS = Status.DERIVED


class RefractionSchedule(StrEnum):
    """The schedules by name; a value is the key of the publication."""

    INFANT_TRIAL = "weakley-2017"
    GUANGZHOU = "liu-2019"
    CHILDREN_WITH_IMPLANTS = "crouch-2002"


@dataclass(frozen=True)
class LensSurgery:
    """One eye's surgery, as a schedule asks for it: `status` is what it left behind, `fellow_operated` whether the other eye was operated as well."""

    born_on: date
    operated_on: date
    status: OpticalStatus
    fellow_operated: bool


@dataclass(frozen=True)
class Due:
    """A date a check is due, and when it was done, if it was."""

    on: date
    met_on: date | None = None


def outside_schedule(schedule: RefractionSchedule, surgery: LensSurgery) -> Message | None:
    """Why a publication's children were not like this one; None where they were. Raises `ClinicalInputError` naming `on` for surgery before birth."""
    months = completed_months(surgery.born_on, surgery.operated_on)
    if not surgery.status.operated:
        return msg("The refraction schedules are for operated eyes; this one is not.")
    if schedule is RefractionSchedule.INFANT_TRIAL and surgery.fellow_operated:
        return msg("The infant trial's schedule is of children with one operated eye; here both are.")
    if schedule is RefractionSchedule.CHILDREN_WITH_IMPLANTS and surgery.status is not OpticalStatus.PSEUDOPHAKIC:
        return msg("This schedule is of eyes with an implant; this one has none.")
    first, last = _ages(schedule)
    if first <= months <= last:
        return None
    return msg("The schedule's children were operated at %(first)s to %(last)s months; this one at %(age)s.", first=f"{first:g}", last=f"{last:g}", age=months)


def _ages(schedule: RefractionSchedule) -> tuple[float, float]:
    """The youngest and the oldest at surgery, in months; the last one compared in completed months."""
    if schedule is RefractionSchedule.INFANT_TRIAL:
        return number("iats-design", "surgery_from_month").value, number("iats-design", "surgery_below_month").value - 1
    if schedule is RefractionSchedule.GUANGZHOU:
        return number("liu-2019", "youngest_months").value, number("liu-2019", "oldest_years").value * MONTHS_A_YEAR
    return number("crouch-2002", "youngest_months").value, number("crouch-2002", "oldest_years").value * MONTHS_A_YEAR


def refraction_dates(schedule: RefractionSchedule, surgery: LensSurgery) -> Iterator[date]:
    """The schedule's dates, ascending, from its weeks and months after surgery and years of age (read; counted from surgery: derived).

    The infant trial's end at five years of age; the others go on for ever. Raises `ClinicalInputError` naming `refraction_schedule`
    for a child unlike the publication's.
    """
    refused = outside_schedule(schedule, surgery)
    if refused is not None:
        raise ClinicalInputError("refraction_schedule", refused)
    return _DATES[schedule](surgery.born_on, surgery.operated_on)


def schedule_sources(schedule: RefractionSchedule) -> tuple[str, ...]:
    """The publications a schedule's dates and children rest on, as keys of `published/`."""
    return (schedule.value, "iats-design") if schedule is RefractionSchedule.INFANT_TRIAL else (schedule.value,)


def _infant_trial(born_on: date, operated_on: date) -> Iterator[date]:
    every = int(number("weakley-2017", "every_months").value)
    until_on = month_on(born_on, int(number("weakley-2017", "until_years").value) * MONTHS_A_YEAR)
    yield month_on(operated_on, int(number("weakley-2017", "first_months").value))
    yield from takewhile(lambda on: on <= until_on, (month_on(operated_on, months) for months in count(every, every)))
    yield from (month_on(born_on, int(years * MONTHS_A_YEAR)) for years in table("weakley-2017", "late_ages").column("age"))


def _guangzhou(_born_on: date, operated_on: date) -> Iterator[date]:
    every, later = int(number("liu-2019", "every_months_first_year").value), int(number("liu-2019", "every_months_later").value)
    yield operated_on + timedelta(weeks=number("liu-2019", "first_weeks").value)
    yield month_on(operated_on, int(number("liu-2019", "second_months").value))
    yield from (month_on(operated_on, months) for months in range(every, MONTHS_A_YEAR + 1, every))
    yield from (month_on(operated_on, months) for months in count(MONTHS_A_YEAR + later, later))


def _children_with_implants(_born_on: date, operated_on: date) -> Iterator[date]:
    first_year = [int(months) for months in table("crouch-2002", "first_year").column("after_surgery")]
    later = int(number("crouch-2002", "every_months_later").value)
    yield operated_on + timedelta(weeks=number("crouch-2002", "first_weeks").value)
    yield from (month_on(operated_on, months) for months in first_year)
    yield from (month_on(operated_on, months) for months in count(first_year[-1] + later, later))


_DATES: dict[RefractionSchedule, Callable[[date, date], Iterator[date]]] = {
    RefractionSchedule.INFANT_TRIAL: _infant_trial,
    RefractionSchedule.GUANGZHOU: _guangzhou,
    RefractionSchedule.CHILDREN_WITH_IMPLANTS: _children_with_implants,
}


def met(dates: Iterable[date], done_on: Iterable[date], early_days: int) -> Iterator[Due]:
    """Each of the ascending `dates` with what answered it: the first time it was done from `early_days` before, until the next one's time has come."""
    done, early = sorted(done_on), timedelta(days=early_days)
    for on, following in pairwise(chain(dates, [None])):
        assert on is not None
        yield Due(on, next((d for d in done if on - early <= d and (following is None or d < following - early)), None))


def recurring(start_on: date, done_on: Iterable[date], months_from: Callable[[date], int]) -> Iterator[Due]:
    """A check that comes round `months_from` (months) after the one before, for ever; each time it was done, the count begins anew.

    The last date before it was done is met by that; done early, it takes the place of the date it came before.
    """
    done = sorted({d for d in done_on if d > start_on})
    for anchor, until in pairwise([start_on, *done]):
        dates = list(takewhile(until.__ge__, _rounds(anchor, months_from)))
        yield from map(Due, dates[:-1])
        yield from (Due(on, until) for on in dates[-1:])
    yield from map(Due, _rounds(done[-1] if done else start_on, months_from))


def _rounds(anchor: date, months_from: Callable[[date], int]) -> Iterator[date]:
    on, months = anchor, 0
    while True:
        months += months_from(on)
        yield (on := month_on(anchor, months))
