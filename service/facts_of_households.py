"""A child's household as it is stored: each version whole, with who told it."""

from dataclasses import dataclass
from datetime import datetime

from schedules.household import Household


@dataclass(frozen=True)
class EnteredHousehold:
    public_id: str
    number: int
    household: Household
    entered_by: str  # the name of a member of staff, or what the clinic calls the caregiver
    by_family: bool
    entered_at: datetime
