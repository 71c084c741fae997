"""A person's own tokens for the API: given once, revoked at once."""

from datetime import datetime

from sqlmodel import Session

from service.facts import Staff
from service.store import people, trail
from service.tokens import new_token


def give(session: Session, staff: Staff, label: str, now: datetime) -> str:
    """The token, in clear text for the only time."""
    token = new_token("a")
    people.add_api_token(session, staff, token, label, now)
    trail.audit(session, staff.clinic_id, at=now, who=staff.public_id, action="give-api-token", subject=staff.public_id, detail={"label": label})
    return token


def revoke(session: Session, staff: Staff, handle: str, now: datetime) -> None:
    people.revoke_api_token(session, staff, handle, now)
    trail.audit(session, staff.clinic_id, at=now, who=staff.public_id, action="revoke-api-token", subject=handle)
