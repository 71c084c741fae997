"""What was told of a child's household."""

from datetime import datetime
from typing import Any

from sqlalchemy import CheckConstraint, UniqueConstraint
from sqlmodel import Field

from service.store.records.base import ClinicRow, json_column


class HouseholdRow(ClinicRow, table=True):
    """A whole household as it was told, by staff or by a caregiver through a link; its dates say from when. The newest holds; rows are only ever added."""

    __tablename__ = "household"
    __table_args__ = (
        UniqueConstraint("child_id", "number"),
        CheckConstraint("(entered_by IS NULL) <> (entered_through IS NULL)", name="entered_by_one"),
    )
    public_id: str = Field(unique=True)
    child_id: int = Field(foreign_key="child.id", index=True)
    number: int
    content: dict[str, Any] = json_column()
    entered_by: int | None = Field(foreign_key="staff.id")
    entered_through: int | None = Field(foreign_key="subscription.id")
    entered_at: datetime
