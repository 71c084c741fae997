"""Less before the end: the one step down that a trial compared with an abrupt stop."""

from dataclasses import dataclass

from shared.dates import MONTHS_A_YEAR
from shared.errors import ClinicalInputError
from shared.findings import Message, Quantity, Unit, msg
from shared.sources import number
from shared.treatment.dose import NoPublishedDose
from shared.treatment.protocol import Row
from shared.treatment.protocol_rows import particulars, row

MOST_HOURS = 24.0


@dataclass(frozen=True)
class Taper:
    """The step in hours a day, the shares in % that lost ground within a year after an abrupt stop and after the step, and the weeks watched."""

    row: Row
    step: Quantity
    lost_abrupt: Quantity
    lost_tapered: Quantity
    watched: Quantity
    working: tuple[Message, ...]


def taper(hours_per_day: float, age_months: int) -> Taper | NoPublishedDose:
    """The published step before stopping, from hours a day and the age in completed months, or why none is (ATS2C, as read).

    Raises `ClinicalInputError` naming `hours_per_day` or `age_months`.
    """
    if not 0 < hours_per_day <= MOST_HOURS:
        raise ClinicalInputError("hours_per_day", msg("A day has more than 0 and up to 24 hours of patch."))
    if age_months < 0:
        raise ClinicalInputError("age_months", msg("An age of %(age)s months cannot be.", age=age_months))
    down, high, oldest = row("taper-two-hours"), number("ats2c", "from_hours"), number("ats2c", "below_age")
    if age_months >= oldest.value * MONTHS_A_YEAR:
        return NoPublishedDose(msg("The children of the step were younger than %(years)s.", years=oldest.quantity(Unit.YEARS)), down.sources)
    if hours_per_day < high.value:
        return NoPublishedDose(msg("The step was tried from %(high)s a day on; from fewer, none is published.", high=high.quantity(Unit.HOURS)), down.sources)
    assert down.amount is not None and down.remark is not None
    return Taper(
        row=down,
        step=down.amount.quantity(Unit.HOURS),
        lost_abrupt=number("ats2c", "recurrence_abrupt").quantity(Unit.PERCENT),
        lost_tapered=number("ats2c", "recurrence_tapered").quantity(Unit.PERCENT),
        watched=number("ats2c", "watched_weeks").quantity(Unit.WEEKS),
        working=(*particulars(down), down.remark),
    )
