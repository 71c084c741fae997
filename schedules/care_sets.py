"""What a clinic asks of families beside patching: which kinds of care, at what intervals, in which words. Data with a date from which it holds."""

import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

from schedules.care_words import CareKind
from shared.course.care_schedule import RefractionSchedule
from shared.errors import ClinicalInputError
from shared.findings import msg

MOST_LETTERS = 200  # of the clinic's own words: a calendar entry stays short
RANGES = {
    "first_correction_days": (1, 60),
    "stitches_from_days": (1, 30),
    "stitches_until_days": (1, 60),
    "refraction_months": (1, 12),
    "spare_order_days": (0, 60),
    "patch_order_days": (0, 30),
    "together_days": (0, 21),
}


@dataclass(frozen=True)
class CareSet:
    """A clinic's care set from `from_on` until the next one; None: the built-in set, which holds before any. The values here are common practice.

    Of the `refraction_schedules` the first holds whose children were like the child; where none was, and after the last published
    date, `refraction_months`. Raises `ClinicalInputError` naming what cannot be.
    """

    from_on: date | None = None
    kinds_off: frozenset[CareKind] = frozenset()
    first_correction_days: int = 7
    stitches_from_days: int = 7
    stitches_until_days: int = 14
    refraction_schedules: tuple[RefractionSchedule, ...] = (RefractionSchedule.INFANT_TRIAL, RefractionSchedule.GUANGZHOU)
    refraction_months: int = 6
    spare_order_days: int = 14  # before the last spare stops being trusted
    patch_order_days: int = 7  # before the last patch is used
    together_days: int = 14  # how far a visit may be brought forward to join another
    words: Mapping[CareKind, str] = field(default_factory=dict)  # for the family, in place of the built-in ones

    def __post_init__(self) -> None:
        for name, (low, high) in RANGES.items():
            value = getattr(self, name)
            if not low <= value <= high or value != int(value):
                raise ClinicalInputError(
                    name, msg("%(value)s cannot be. Give a whole number from %(low)s to %(high)s.", value=f"{value:g}", low=low, high=high)
                )
        if CareKind.PRESSURE_CHECK in self.kinds_off:
            raise ClinicalInputError("kinds_off", msg("Pressure checks are for life after cataract surgery in childhood: a care set cannot leave them out."))
        if self.stitches_until_days < self.stitches_from_days:
            first, last = self.stitches_from_days, self.stitches_until_days
            raise ClinicalInputError(
                "stitches_until_days", msg("Stitches are looked at from day %(first)s on; until %(last)s cannot be.", first=first, last=last)
            )
        if len(set(self.refraction_schedules)) < len(self.refraction_schedules):
            raise ClinicalInputError("refraction_schedules", msg("A refraction schedule is named twice."))
        for words in self.words.values():
            if not words.strip() or len(words) > MOST_LETTERS or any(unicodedata.category(c) in ("Cc", "Cs") for c in words):
                raise ClinicalInputError("words", msg("Words of a care item are one line of 1 to %(most)s letters.", most=MOST_LETTERS))


BUILT_IN_CARE_SET = CareSet()


def care_set_on(sets: Sequence[CareSet], day: date) -> CareSet:
    """The set that holds on a day: the newest begun by then, else the built-in one. Raises `ClinicalInputError` naming `from_on` for two of one date."""
    dates = [s.from_on for s in sets]
    if len(set(dates)) < len(dates):
        raise ClinicalInputError("from_on", msg("Two care sets begin on one day."))
    begun = [s for s in sets if s.from_on is None or s.from_on <= day]
    return max(begun, key=lambda s: s.from_on or date.min, default=BUILT_IN_CARE_SET)
