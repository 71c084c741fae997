"""What a child's next anaesthetic is for: which measurement of an eye is missing, and which is too old to rest on."""

from datetime import date
from enum import StrEnum

from shared.dates import completed_months
from shared.vocabulary import OpticalStatus

FAST_GROWTH_MONTHS = 24  # the eye grows fastest in the first two years (common practice)
STALE_MONTHS_YOUNG, STALE_MONTHS = 3, 6  # how old a measurement may be, below and from that age (common practice)


class Measurement(StrEnum):
    """What is measured while a child sleeps."""

    AXIAL_LENGTH = "axial-length"
    KERATOMETRY = "keratometry"
    PRESSURE = "pressure"
    CORNEAL_DIAMETER = "corneal-diameter"
    STITCHES = "stitches"
    LENS_FIT = "lens-fit"


class Standing(StrEnum):
    """How a measurement stands on the day of the anaesthetic."""

    MISSING = "missing"
    STALE = "stale"
    RECENT = "recent"


def wanted(status: OpticalStatus, lens_worn: bool) -> tuple[Measurement, ...]:
    """The measurements of one eye: of both eyes for comparison; stitches of an operated one, the fit of one that wears a lens (common practice)."""
    if status is OpticalStatus.ABSENT:
        return ()
    both = (Measurement.AXIAL_LENGTH, Measurement.KERATOMETRY, Measurement.PRESSURE, Measurement.CORNEAL_DIAMETER)
    return both + ((Measurement.STITCHES,) if status.operated else ()) + ((Measurement.LENS_FIT,) if lens_worn else ())


def oldest_months(born_on: date, on: date) -> int:
    """Completed months after which a measurement counts as stale on a day (common practice). Raises ValueError for a day before birth."""
    return STALE_MONTHS_YOUNG if completed_months(born_on, on) < FAST_GROWTH_MONTHS else STALE_MONTHS


def standing(last_on: date | None, born_on: date, on: date) -> Standing:
    """How a measurement last taken on `last_on` stands on the day `on`: stale from `oldest_months` completed months."""
    if last_on is None:
        return Standing.MISSING
    return Standing.STALE if completed_months(last_on, on) >= oldest_months(born_on, on) else Standing.RECENT
