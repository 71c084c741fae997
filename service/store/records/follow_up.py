"""Operations, booked visits and what became of them, and notices to the staff."""

from datetime import date, datetime
from typing import Any

from sqlalchemy import UniqueConstraint
from sqlmodel import Field

from service.store.records.base import ClinicRow, json_column, one_of


class OperationRow(ClinicRow, table=True):
    """A signed day of surgery. What it did to the eye's optics stands in `eye_status`."""

    __tablename__ = "operation"
    public_id: str = Field(unique=True)
    child_id: int = Field(foreign_key="child.id", index=True)
    operation: str
    eye: str | None
    on: date
    note: str
    signed_by: int = Field(foreign_key="staff.id")
    signed_at: datetime


class BookingRow(ClinicRow, table=True):
    """A visit that is booked, as it stands now. Whether it was kept is seen from the visits."""

    __tablename__ = "booking"
    __table_args__ = (one_of("kind", "review", "anaesthetic"), one_of("state", "booked", "not-brought", "cancelled"))
    public_id: str = Field(unique=True)
    child_id: int = Field(foreign_key="child.id", index=True)
    kind: str
    on: date
    state: str
    version: int = 1


class BookingChangeRow(ClinicRow, table=True):
    """Who booked, moved or closed it, and why. Rows are only ever added."""

    __tablename__ = "booking_change"
    __table_args__ = (UniqueConstraint("booking_id", "version"),)
    booking_id: int = Field(foreign_key="booking.id", index=True)
    version: int
    on: date
    state: str
    reason: str
    changed_by: int = Field(foreign_key="staff.id")
    changed_at: datetime


class NoticeRow(ClinicRow, table=True):
    """A warning to one signer, or (without one) to the whole clinic, until somebody has seen it."""

    __tablename__ = "notice"
    __table_args__ = (UniqueConstraint("dedupe_key"),)
    public_id: str = Field(unique=True)
    child_id: int = Field(foreign_key="child.id", index=True)
    for_staff: int | None = Field(default=None, foreign_key="staff.id")
    urgent: bool
    message: dict[str, Any] = json_column()
    dedupe_key: str
    made_at: datetime
    seen_by: int | None = Field(default=None, foreign_key="staff.id")
    seen_at: datetime | None = None
