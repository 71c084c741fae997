"""How long a plan may go on past its review where the visit slips: the signer chooses, up to a limit (common practice)."""

from dataclasses import dataclass

from shared.dates import MONTHS_A_YEAR
from shared.findings import Message, Quantity, Unit, msg
from shared.treatment.full_time import is_full_time

LONGEST_DAYS = 14
DROPS_DAYS = 7  # drops blur the better eye all day long
_BY_AGE = ((1, 3), (3, 7))  # below so many years, at most so many days; without a limit of its own afterwards
_BY_HOURS = ((2.0, LONGEST_DAYS), (6.0, 7))  # up to so many hours a day, at most so many days
_ABOVE = 3


@dataclass(frozen=True)
class GraceLimit:
    """The most days past the review, and why no more."""

    days: int
    reason: Message


def longest_grace(minutes_per_day: int, age_months: int, waking_hours: float | None) -> GraceLimit:
    """Of the greatest minutes on any day of the plan, the age in completed months and the family's own waking hours (None: by the equation).

    14 days at most, less for more hours and for a younger child, none for all waking hours or all but one (common practice).
    """
    if is_full_time(minutes_per_day, age_months, waking_hours):
        return GraceLimit(0, msg("all waking hours, or all but one, are never carried on unseen"))
    by_age = next((days for years, days in _BY_AGE if age_months < years * MONTHS_A_YEAR), LONGEST_DAYS)
    by_hours = next((days for hours, days in _BY_HOURS if minutes_per_day <= hours * 60), _ABOVE)
    if by_age < by_hours:
        return GraceLimit(by_age, msg("a younger child is carried on unseen for a shorter time"))
    if by_hours < LONGEST_DAYS:
        hours = Quantity(minutes_per_day / 60, Unit.HOURS)
        return GraceLimit(by_hours, msg("%(hours)s a day are carried on unseen for a shorter time than fewer", hours=hours))
    return GraceLimit(LONGEST_DAYS, msg("nothing is carried on unseen for longer than two weeks"))
