"""Stored facts about what surrounds a regimen."""

from dataclasses import dataclass
from datetime import date, datetime

from shared.course.limits import ReviewLimits
from shared.findings import Message
from shared.vocabulary import BookingKind, BookingState, Laterality, Operation


@dataclass(frozen=True)
class ClinicRules:
    """What a clinic has set for its reviews: version `number`, 0 where it has set nothing yet."""

    limits: ReviewLimits
    number: int
    reason: str = ""
    set_by: str = ""
    set_at: datetime | None = None


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
class BookingChange:
    on: date
    state: BookingState
    reason: str
    changed_by: str
    changed_at: datetime


@dataclass(frozen=True)
class Booking:
    """A booked visit as it stands, and who changed it how, oldest first. `number` is its own for ever, wherever it is moved."""

    number: int
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
