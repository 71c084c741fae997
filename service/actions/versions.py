"""Entering a version of what a clinic keeps. What holds on past days is never changed."""

from datetime import date, datetime

from sqlmodel import Session

from service.facts import Staff
from service.store import trail
from shared.errors import ClinicalInputError
from shared.findings import msg


def check_from(from_on: date, today: date) -> None:
    """Raises `ClinicalInputError` naming `from_on`."""
    if from_on < today:
        raise ClinicalInputError("from_on", msg("%(on)s lies in the past, for which documents may have been signed; today or later would do.", on=from_on))


def audit(session: Session, staff: Staff, what: str, public_id: str, name: str, number: int, now: datetime, *, ended: bool = False) -> str:
    """The version's public id, with who entered or ended it in the trail."""
    action = f"end-{what}" if ended else f"enter-{what}"
    trail.audit(session, staff.clinic_id, at=now, who=staff.public_id, action=action, subject=public_id, detail={"name": name, "number": number})
    return public_id
