"""Stored facts about a clinic's own protocols."""

from dataclasses import dataclass
from datetime import date, datetime

from shared.treatment.clinic_protocol import ClinicProtocol


@dataclass(frozen=True)
class EnteredProtocol:
    """One version of a clinic's protocol, which holds from a date on; `ended`: from then on there is no such protocol."""

    public_id: str
    number: int
    protocol: ClinicProtocol
    from_on: date
    ended: bool
    entered_by: str
    entered_at: datetime
