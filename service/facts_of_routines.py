"""Stored facts about a child's household."""

from dataclasses import dataclass
from datetime import datetime

from schedules.household import Household


@dataclass(frozen=True)
class EnteredHousehold:
    """One version of everything that is told about a child's days; the newest holds. It never says anything new of a day that was past when it was entered."""

    public_id: str
    number: int
    household: Household
    entered_by: str  # a member of staff, or a caregiver as the clinic calls them
    by_family: bool
    entered_at: datetime
