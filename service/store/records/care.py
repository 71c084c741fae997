"""A clinic's care sets, and what was said of one child's care."""

from datetime import date, datetime
from typing import Any

from sqlalchemy import CheckConstraint, UniqueConstraint
from sqlmodel import Field

from service.store.records.base import ClinicRow, json_column, one_of


class CareSetRow(ClinicRow, table=True):
    """A version of the clinic's care set from a date on. Rows are only ever added."""

    __tablename__ = "care_set"
    __table_args__ = (UniqueConstraint("clinic_id", "number"),)
    public_id: str = Field(unique=True)
    number: int
    from_on: date
    content: dict[str, Any] = json_column()
    entered_by: int = Field(foreign_key="staff.id")
    entered_at: datetime


class CareEntryRow(ClinicRow, table=True):
    """One thing said of a child's care: a line of the surgeon's sheet, its end, a count of patches, a date, how a lens is worn; by staff, or by
    a caregiver through a link. Rows are only ever added.
    """

    __tablename__ = "care_entry"
    __table_args__ = (
        UniqueConstraint("child_id", "number"),
        one_of("kind", "sheet-line", "line-ended", "patches", "secondary-lens", "lens-wear"),
        CheckConstraint("(recorded_by IS NULL) <> (recorded_through IS NULL)", name="recorded_by_one"),
    )
    public_id: str = Field(unique=True)
    child_id: int = Field(foreign_key="child.id", index=True)
    number: int
    kind: str
    content: dict[str, Any] = json_column()
    recorded_by: int | None = Field(foreign_key="staff.id")
    recorded_through: int | None = Field(foreign_key="subscription.id")
    recorded_at: datetime
