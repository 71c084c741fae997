"""Entering a clinic's care set. What holds on past days is never changed."""

from datetime import date, datetime

from sqlmodel import Session

from schedules.care_sets import CareSet
from service.access import require_administrator
from service.actions import versions
from service.errors import ChangedMeanwhileError
from service.facts import Staff
from service.store import care_sets, links


def enter(session: Session, staff: Staff, care_set: CareSet, seen: int, from_on: date, today: date, now: datetime) -> str:
    """The version after the one that was `seen` (0: none). Raises `ClinicalInputError` naming `from_on`, `ChangedMeanwhileError` where there is one already."""
    require_administrator(staff)
    versions.check_from(from_on, today)
    if len(care_sets.versions(session, staff.clinic_id)) != seen:
        raise ChangedMeanwhileError
    public_id = care_sets.add(session, staff, care_set, seen + 1, from_on, now)
    links.make_feeds_anew(session, staff.clinic_id)
    return versions.audit(session, staff, "care-set", public_id, "", seen + 1, now)
