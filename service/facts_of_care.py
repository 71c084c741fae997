"""Stored facts about what surrounds a regimen: operations, lens ranges, lenses and what became of them, booked visits, notices."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from shared.findings import Message
from shared.lens_range import LensRange
from shared.vocabulary import BookingKind, BookingState, Laterality, LensState, Operation, PowerPlane


@dataclass(frozen=True)
class SignedOperation:
    public_id: str
    operation: Operation
    eye: Laterality | None  # None: both eyes, or the squint as a whole
    on: date
    note: str
    signed_by: str
    signed_at: datetime


@dataclass(frozen=True)
class EnteredRange:
    """A clinic's own lens range as it holds from a date on."""

    public_id: str
    lens_range: LensRange
    from_on: date
    withdrawn: bool
    entered_by: str
    entered_at: datetime


@dataclass(frozen=True)
class LensEntry:
    state: LensState
    on: date
    note: str
    recorded_by: str
    recorded_at: datetime


@dataclass(frozen=True)
class LedgerLens:
    """One lens with its entries, oldest first; the first says when it was ordered or arrived."""

    public_id: str
    correction_id: str
    eye: Laterality
    power: float
    power_plane: PowerPlane
    base_curve_mm: float | None
    diameter_mm: float | None
    entries: tuple[LensEntry, ...]

    @property
    def last(self) -> LensEntry:
        return self.entries[-1]


@dataclass(frozen=True)
class LensCheck:
    """A made-up lens as it was measured against a signed correction."""

    public_id: str
    correction_id: str
    measured: Mapping[str, Any]
    recorded_by: str
    recorded_at: datetime


@dataclass(frozen=True)
class BookingChange:
    on: date
    state: BookingState
    reason: str
    changed_by: str
    changed_at: datetime


@dataclass(frozen=True)
class Booking:
    """A booked visit as it stands, and who changed it how, oldest first."""

    public_id: str
    kind: BookingKind
    on: date
    state: BookingState
    version: int
    changes: tuple[BookingChange, ...]


@dataclass(frozen=True)
class Notice:
    """A warning to one signer or to the whole clinic that nobody has marked as seen."""

    public_id: str
    child_public_id: str
    child_name: str
    urgent: bool
    message: Message
    to_signer: bool
    made_at: datetime
