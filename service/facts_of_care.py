"""Stored facts about what surrounds a regimen."""

from dataclasses import dataclass
from datetime import date, datetime

from shared.vocabulary import Laterality, Operation


@dataclass(frozen=True)
class SignedOperation:
    public_id: str
    operation: Operation
    eye: Laterality | None  # None: both eyes, or the squint as a whole
    on: date
    note: str
    signed_by: str
    signed_at: datetime
