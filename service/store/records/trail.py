"""What goes along with a change."""

from datetime import datetime
from typing import Any

from sqlalchemy import Index, UniqueConstraint
from sqlmodel import Field

from service.store.records.base import ClinicRow, json_column


class AuditRow(ClinicRow, table=True):
    __tablename__ = "audit"
    at: datetime
    who: str
    action: str
    subject: str
    detail: dict[str, Any] = json_column()


class OutboxRow(ClinicRow, table=True):
    """A message that the change it announces has caused, written in the same transaction."""

    __tablename__ = "outbox"
    __table_args__ = (UniqueConstraint("dedupe_key"), Index("outbox_waiting", "state", "due_at"))
    child_id: int = Field(foreign_key="child.id")
    subscription_id: int = Field(foreign_key="subscription.id")
    kind: str
    dedupe_key: str
    due_at: datetime
    expires_at: datetime
    state: str = "pending"


class SubmissionRow(ClinicRow, table=True):
    """A form that was already taken: the same key again answers with what the first one made."""

    __tablename__ = "submission"
    __table_args__ = (UniqueConstraint("clinic_id", "key"),)
    key: str
    action: str
    result: str
    at: datetime
