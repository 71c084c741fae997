"""Care beside patching: its kinds, and one dated item of it."""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from shared.findings import Message
from shared.vocabulary import Laterality, Status


class DoneBy(StrEnum):
    FAMILY = "family"
    CLINIC = "clinic"


class CareKind(StrEnum):
    """What is to be done. Part of a calendar entry's identity: never rename a value."""

    FIRST_CORRECTION = "first-correction"
    CORRECTION_ON = "correction-on"
    LENS_OUT = "lens-out"
    LENS_CLEAN = "lens-clean"
    LENS_REPLACE = "lens-replace"
    SPARE_LENS = "spare-lens"
    POWER_OUT_OF_DATE = "power-out-of-date"
    REFRACTION_CHECK = "refraction-check"
    PRESSURE_CHECK = "pressure-check"
    STITCH_CHECK = "stitch-check"
    REVIEW_DUE = "review-due"
    VISIT = "visit"
    SECONDARY_LENS = "secondary-lens"
    DROPS = "drops"
    SHIELD = "shield"
    PATCH_STOCK = "patch-stock"

    @property
    def done_by(self) -> DoneBy:
        return DoneBy.FAMILY if self in _BY_FAMILY else DoneBy.CLINIC

    @property
    def is_visit(self) -> bool:
        """Whether the child comes to the clinic for it."""
        return self.done_by is DoneBy.CLINIC and self is not CareKind.SPARE_LENS


_BY_FAMILY = {
    CareKind.CORRECTION_ON,
    CareKind.LENS_OUT,
    CareKind.LENS_CLEAN,
    CareKind.LENS_REPLACE,
    CareKind.DROPS,
    CareKind.SHIELD,
    CareKind.PATCH_STOCK,
}

Key = tuple[date, CareKind, int]


@dataclass(frozen=True)
class CareItem:
    """One thing to do on `on`, or between it and `latest_on`; `key` is its own for ever, whatever else becomes of the child.

    The eye stands in the texts and never in a title. `caused_on` is the day of what the item follows from; `met_on` when it was done.
    `sources` are keys of `shared/published/`; empty for common practice.
    """

    kind: CareKind
    on: date
    ordinal: int
    eye: Laterality | None
    family: Message
    clinic: Message
    caused_on: date
    status: Status = Status.COMMON_PRACTICE
    sources: tuple[str, ...] = ()
    latest_on: date | None = None
    met_on: date | None = None

    @property
    def key(self) -> Key:
        return self.on, self.kind, self.ordinal

    @property
    def due_on(self) -> date:
        """The last day on which it is in time."""
        return self.latest_on or self.on


def ordinal_of(eye: Laterality | None) -> int:
    """An eye's place among the items of one kind and day: the same whether the other eye has one or not."""
    return 1 if eye is None else 2 + list(Laterality).index(eye)
