"""Operations: what was done to a child on a day."""

from datetime import date, datetime

from sqlmodel import Field

from service.store.records.base import ClinicRow


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
