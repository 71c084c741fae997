"""Entering a clinic's care set. What holds on past days is never changed."""

from datetime import date, datetime

from sqlmodel import Session

from schedules.care_sets import CareSet
from service.access import require_administrator
from service.errors import ChangedMeanwhileError
from service.facts import Staff
from service.store import care_sets, trail
from shared.errors import ClinicalInputError
from shared.findings import msg


def enter(session: Session, staff: Staff, care_set: CareSet, seen: int, from_on: date, today: date, now: datetime) -> str:
    """The version after the one that was `seen` (0: none). Raises `ClinicalInputError` naming `from_on`, `ChangedMeanwhileError` where there is one already."""
    require_administrator(staff)
    if from_on < today:
        raise ClinicalInputError("from_on", msg("%(on)s lies in the past, for which care was dated; today or later would do.", on=from_on))
    if len(care_sets.versions(session, staff.clinic_id)) != seen:
        raise ChangedMeanwhileError
    public_id = care_sets.add(session, staff, care_set, seen + 1, from_on, now)
    trail.audit(session, staff.clinic_id, at=now, who=staff.public_id, action="enter-care-set", subject=public_id, detail={"number": seen + 1})
    return public_id
