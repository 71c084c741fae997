"""A child's household: one home or two, who has the child on which date, and the day that follows from it."""

from dataclasses import dataclass
from datetime import date
from itertools import pairwise

from schedules.local_time import zone_named
from schedules.routine import DAYS_A_WEEK, DayOff, Journey, ResolvedDay, Routine, refuse_overlap
from shared.dates import completed_months
from shared.errors import ClinicalInputError
from shared.findings import msg


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
