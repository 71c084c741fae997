"""A child's household: one home or two, who has the child on which date, and the day that follows from it."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from itertools import pairwise

from schedules.local_time import zone_named
from schedules.routine import DayOff, Journey, ResolvedDay, Routine, refuse_overlap
from shared.dates import DAYS_A_WEEK, completed_months
from shared.errors import ClinicalInputError
from shared.findings import Finding, Quantity, Unit, Weight, msg
from shared.vocabulary import Status

MANY_DAYS_OFF = 7  # common practice: a week without the patch is a week on which the clinic would want to hear of the reason


@dataclass(frozen=True)
class Home:
    """Where a caregiver, an opaque key, has the child; without a routine of its own, and before that begins, the common one holds."""

    caregiver: str
    routine: Routine | None = None


@dataclass(frozen=True)
class Rotation:
    """Who has the child on each of seven or fourteen days, again and again from `anchor_on` until the next rotation.

    Raises `ClinicalInputError` naming `caregivers` for any other number of days.
    """

    anchor_on: date
    caregivers: tuple[str, ...]

    def __post_init__(self) -> None:
        if len(self.caregivers) not in (DAYS_A_WEEK, 2 * DAYS_A_WEEK):
            raise ClinicalInputError(
                "caregivers",
                msg("From %(anchor)s: name who has the child on each of 7 or of 14 days, not of %(days)s.", anchor=self.anchor_on, days=len(self.caregivers)),
            )

    def caregiver_on(self, on: date) -> str:
        return self.caregivers[(on - self.anchor_on).days % len(self.caregivers)]


@dataclass(frozen=True)
class Swap:
    """One date on which another caregiver than the rotation's has the child."""

    on: date
    caregiver: str


@dataclass(frozen=True)
class Move:
    """From a date on the household lives in another zone. Raises `ClinicalInputError` for an unknown one."""

    on: date
    time_zone: str

    def __post_init__(self) -> None:
        zone_named(self.time_zone)


@dataclass(frozen=True)
class Household:
    """Everything a family has told about the child's days. `routine` holds in every home that has none of its own; `time_zone` before the first move.

    Raises `ClinicalInputError` naming the field for a caregiver without a home, rotations out of order, two swaps on a date, journeys that share a
    date, and an unknown zone.
    """

    born_on: date
    time_zone: str
    routine: Routine
    homes: tuple[Home, ...] = ()
    rotations: tuple[Rotation, ...] = ()
    swaps: tuple[Swap, ...] = ()
    days_off: tuple[DayOff, ...] = ()
    journeys: tuple[Journey, ...] = ()
    moves: tuple[Move, ...] = ()  # ascending

    def __post_init__(self) -> None:
        zone_named(self.time_zone)
        caregivers = [home.caregiver for home in self.homes]
        if len(set(caregivers)) < len(caregivers):
            raise ClinicalInputError("homes", msg("A caregiver has two homes. Give each home once."))
        for rotation in self.rotations:
            if not set(rotation.caregivers) <= set(caregivers):
                raise ClinicalInputError("rotations", msg("The rotation from %(anchor)s names a caregiver without a home.", anchor=rotation.anchor_on))
        if any(later.anchor_on <= earlier.anchor_on for earlier, later in pairwise(self.rotations)):
            raise ClinicalInputError("rotations", msg("The dates from which the rotations hold must follow one another, each date once."))
        for n, swap in enumerate(self.swaps):
            if swap.caregiver not in caregivers:
                raise ClinicalInputError("swaps", msg("The swap on %(on)s names a caregiver without a home.", on=swap.on))
            if any(swap.on == other.on for other in self.swaps[:n]):
                raise ClinicalInputError("swaps", msg("%(on)s is swapped twice.", on=swap.on))
        refuse_overlap("journeys", self.journeys)

    def caregiver_on(self, on: date) -> str | None:
        """Who has the child: by a swap, else by the rotation in force; None where nothing was said."""
        swapped = next((swap.caregiver for swap in self.swaps if swap.on == on), None)
        rotation = next((rotation for rotation in reversed(self.rotations) if rotation.anchor_on <= on), None)
        return swapped or (rotation.caregiver_on(on) if rotation else None)

    def resolve(self, on: date) -> ResolvedDay:
        """The date's zone and day, in the home that has the child. Raises `ClinicalInputError` naming `on` before birth."""
        caregiver = self.caregiver_on(on)
        own = next((home.routine for home in self.homes if home.caregiver == caregiver), None)
        lived_in = next((move.time_zone for move in reversed(self.moves) if move.on <= on), self.time_zone)
        time_zone = next((journey.time_zone for journey in self.journeys if journey.covers(on)), lived_in)
        age_months = completed_months(self.born_on, on)
        day = (own.day_on(on, age_months) if own else None) or self.routine.day_on(on, age_months)
        return ResolvedDay(on, zone_named(time_zone), day, any(off.covers(on) for off in self.days_off))


def days_off_ahead(days_off: tuple[DayOff, ...], doses: Mapping[date, int]) -> tuple[Finding, ...]:
    """One finding of the dates that have minutes in `doses` and on which nothing is worn; a week or more of them is to be checked."""
    off = {on: minutes for on, minutes in doses.items() if minutes and any(told.covers(on) for told in days_off)}
    if not off:
        return ()
    many = len(off) >= MANY_DAYS_OFF
    missing = Quantity(sum(off.values()), Unit.MINUTES)
    text = msg("The family has told of days off ahead: %(days)s dates of the plan, %(missing)s, fall away.", days=len(off), missing=missing)
    told = tuple(
        msg("%(first)s to %(last)s: %(words)s", first=told.first_on, last=told.last_on, words=told.words)
        for told in sorted(days_off, key=lambda told: told.first_on)
        if any(told.covers(on) for on in off)
    )
    family = msg("You have told us of many days without the patch. What was prescribed has not changed: please ring the clinic.") if many else None
    weight = Weight.CHECK if many else Weight.NOTE
    return (Finding("days-off-ahead", text, Status.COMMON_PRACTICE, value=missing, working=told, weight=weight, family=family),)
