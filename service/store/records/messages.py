"""Where caregivers can be reached, and the messages that are due to them."""

from datetime import date, datetime
from typing import Any

from sqlalchemy import Index, UniqueConstraint
from sqlmodel import Field

from service.store.records.base import ClinicRow, json_column


class ContactRow(ClinicRow, table=True):
    """One address of one caregiver; it stays when it is given up, for messages name it."""

    __tablename__ = "contact"
    __table_args__ = (UniqueConstraint("subscription_id", "channel", "address"),)
    public_id: str = Field(unique=True)
    subscription_id: int = Field(foreign_key="subscription.id", index=True)
    channel: str
    address: str
    keys: dict[str, str] = json_column()
    added_at: datetime
    off_at: datetime | None = None
    bounced_at: datetime | None = None
    gone_at: datetime | None = None


class OutboxRow(ClinicRow, table=True):
    """A message to one address, written in the transaction that caused it. Whoever holds the lease may send it; `next_at` is when it is tried."""

    __tablename__ = "outbox"
    __table_args__ = (UniqueConstraint("dedupe_key"), Index("outbox_next", "state", "next_at"))
    child_id: int = Field(foreign_key="child.id", index=True)
    subscription_id: int = Field(foreign_key="subscription.id", index=True)
    contact_id: int | None = Field(default=None, foreign_key="contact.id")
    channel: str | None = None
    kind: str
    about: str
    on: date | None = None
    detail: dict[str, Any] = json_column()
    dedupe_key: str
    due_at: datetime
    expires_at: datetime
    state: str = "pending"
    attempts: int = 0
    next_at: datetime
    claimed_by: str | None = None
    lease_until: datetime | None = None
    sent_at: datetime | None = None
    error: str | None = None
