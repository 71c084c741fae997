"""The own model's answer as a table: the review, the calculation and the API print the same one."""

import math

from service.calculations.sheet import Grid
from shared.course.expected_response import Expected
from shared.findings import Message, Quantity, Unit, msg
from shared.rounding import round_half_up

HOURS = {
    "low": msg("Hours to the next 0.1 logMAR, one child in ten within"),
    "median": msg("Hours to the next 0.1 logMAR, half of the children within"),
    "high": msg("Hours to the next 0.1 logMAR, nine in ten within"),
}
SHOWN_LOGMAR, SHOWN_WEEKS, SHOWN_SHARE = 0.001, 0.1, 0.001  # a model of this kind says nothing finer, and two processors may differ beyond
NEVER = msg("not reached")


def in_hours(hours: float) -> Quantity | Message:
    return Quantity(round_half_up(hours), Unit.HOURS) if math.isfinite(hours) else NEVER


def outlook_grid(found: Expected) -> Grid:
    columns = (msg("Dose"), msg("Gain, logMAR"), msg("80 of 100 from"), msg("80 of 100 to"), msg("Weeks to the next 0.1 logMAR, half of them"))
    rows = tuple(
        (
            o.dose.label,
            *(Quantity(round_half_up(gain, SHOWN_LOGMAR), Unit.LOGMAR_CHANGE) for gain in (o.further.median, o.further.low, o.further.high)),
            NEVER if o.weeks_to_next_line is None else Quantity(round_half_up(o.weeks_to_next_line, SHOWN_WEEKS), Unit.WEEKS),
        )
        for o in found.outlooks
    )
    return Grid("outlook", msg("Expected further gain in %(weeks)s", weeks=Quantity(found.weeks, Unit.WEEKS)), columns, rows)
