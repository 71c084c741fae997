"""What goes along with a change, in its own transaction: audit, outbox, and the memory of forms already taken."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

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


def taken(session: Session, clinic_id: int, key: str) -> str | None:
    """What the form with this key made, if it was already taken."""
    row = session.exec(select(SubmissionRow).where(SubmissionRow.clinic_id == clinic_id, SubmissionRow.key == key)).first()
    return row.result if row else None


def take(session: Session, clinic_id: int, key: str, action: str, result: str, now: datetime) -> None:
    session.add(SubmissionRow(clinic_id=clinic_id, key=key, action=action, result=result, at=now))
    session.flush()
