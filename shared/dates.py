"""Ages in the convention of the trade: completed months and years, counted on calendar dates; and as a number for published courses."""

from calendar import monthrange
from datetime import date, timedelta

from shared.errors import ClinicalInputError
from shared.findings import msg

DAYS_PER_YEAR = 365.25
MONTHS_A_YEAR = 12
DAYS_A_WEEK = 7


def month_on(born_on: date, months: int) -> date:
    """The date on which `months` are completed: the same day of the month, or the month's last day where there is none (common practice)."""
    year, month0 = divmod(born_on.year * 12 + born_on.month - 1 + months, 12)
    return date(year, month0 + 1, min(born_on.day, monthrange(year, month0 + 1)[1]))


def completed_months(born_on: date, on: date) -> int:
    """Chronological age in completed months. Raises `ClinicalInputError` before birth."""
    if on < born_on:
        raise ClinicalInputError("on", msg("%(on)s lies before the date of birth, %(born_on)s.", on=on, born_on=born_on))
    months = (on.year - born_on.year) * 12 + on.month - born_on.month
    return months if month_on(born_on, months) <= on else months - 1


def corrected_months(born_on: date, weeks_premature: int, on: date) -> int:
    """Age in completed months from the day on which 40 weeks would have been complete. Raises `ClinicalInputError` before that day."""
    return completed_months(born_on + timedelta(weeks=weeks_premature), on)


def age_years(born_on: date, on: date) -> float:
    """Age as a number for published courses, in years of 365.25 days. Raises `ClinicalInputError` before birth."""
    completed_months(born_on, on)
    return (on - born_on).days / DAYS_PER_YEAR
