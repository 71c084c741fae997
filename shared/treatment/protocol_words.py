"""The words of protocols. Values are what is stored and what the API speaks."""

from datetime import date
from enum import StrEnum


class Pattern(StrEnum):
    """On which days a treatment falls. All but the weekend are counted from its first day, which is always one of them."""

    DAILY = "daily"
    SIX_DAYS_A_WEEK = "six-days-a-week"
    ALTERNATE_DAYS = "alternate-days"
    WEEKEND = "weekend"

    def includes(self, day: date, first_on: date) -> bool:
        """Whether it falls on `day`, having begun on `first_on`: six days and one off, or every other day; Saturday and Sunday."""
        match self:
            case Pattern.DAILY:
                return True
            case Pattern.SIX_DAYS_A_WEEK:
                return (day - first_on).days % 7 != 6
            case Pattern.ALTERNATE_DAYS:
                return (day - first_on).days % 2 == 0
            case Pattern.WEEKEND:
                return day.weekday() >= 5


class BandSet(StrEnum):
    """Whose words "moderate" and "severe" are; a member is the rule of `shared.sight.severity` that judges by it."""

    ATS1 = "band-ats1"
    ATS2A = "band-ats2a"
    ATS2B = "band-ats2b"
    ATS4 = "band-ats4"
    WEEKEND_ATROPINE = "band-weekend-atropine"
    TWO_HOUR_RUN_IN = "band-two-hour-run-in"
    WANG_2021 = "band-wang-2021"
