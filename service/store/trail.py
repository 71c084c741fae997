"""What goes along with a change, in its own transaction: audit, and the memory of forms already taken."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from sqlalchemy import delete
from sqlalchemy.exc import IntegrityError
from sqlmodel import Session, col, select

from service.store.records import AuditRow, SubmissionRow


def audit(session: Session, clinic_id: int, *, at: datetime, who: str, action: str, subject: str, detail: Mapping[str, Any] | None = None) -> None:
    session.add(AuditRow(clinic_id=clinic_id, at=at, who=who, action=action, subject=subject, detail=dict(detail or {})))


def claim(session: Session, clinic_id: int, key: str, action: str, now: datetime) -> str | None:
    """None when this form comes for the first time, and it is ours to carry out; else what the first one made.

    Two at once: the second waits on the unique key until the first has committed, and then reads its result.
    """
    earlier = _submission(session, clinic_id, key)
    if earlier is None:
        try:
            with session.begin_nested():
                session.add(SubmissionRow(clinic_id=clinic_id, key=key, action=action, result="", at=now))
            return None
        except IntegrityError:
            earlier = _submission(session, clinic_id, key)
    return earlier.result if earlier else None


def forget_claims(session: Session, before: datetime) -> None:
    """Forms so old that nobody sends them again."""
    session.exec(delete(SubmissionRow).where(col(SubmissionRow.at) < before))


def settle_claim(session: Session, clinic_id: int, key: str, result: str) -> None:
    row = _submission(session, clinic_id, key)
    if row is not None:
        row.result = result


def _submission(session: Session, clinic_id: int, key: str) -> SubmissionRow | None:
    return session.exec(select(SubmissionRow).where(SubmissionRow.clinic_id == clinic_id, SubmissionRow.key == key)).first()
