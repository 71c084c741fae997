"""What goes along with a change, in its own transaction: audit, outbox, and the memory of forms already taken."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import delete
from sqlalchemy.exc import IntegrityError
from sqlmodel import Session, col, select

from service.facts import Child, Subscription
from service.store.records import AuditRow, OutboxRow, SubmissionRow


def audit(session: Session, clinic_id: int, *, at: datetime, who: str, action: str, subject: str, detail: Mapping[str, Any] | None = None) -> None:
    session.add(AuditRow(clinic_id=clinic_id, at=at, who=who, action=action, subject=subject, detail=dict(detail or {})))


def announce(session: Session, child: Child, recipients: Sequence[Subscription], kind: str, about: str, *, due_at: datetime, expires_at: datetime) -> None:
    """One message a recipient; the key makes a second announcement of the same thing impossible."""
    for r in recipients:
        session.add(
            OutboxRow(
                clinic_id=child.clinic_id,
                child_id=child.id,
                subscription_id=r.id,
                kind=kind,
                dedupe_key=f"{kind}|{about}|{r.public_id}",
                due_at=due_at,
                expires_at=expires_at,
            )
        )


def waiting(session: Session, child: Child) -> list[tuple[str, str]]:
    """(kind, state) of the messages about a child, oldest first."""
    rows = session.exec(select(OutboxRow).where(OutboxRow.child_id == child.id).order_by(col(OutboxRow.id))).all()
    return [(r.kind, r.state) for r in rows]


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
