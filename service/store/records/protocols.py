"""A clinic's own protocols."""

from datetime import date, datetime

from sqlalchemy import CheckConstraint, UniqueConstraint
from sqlmodel import Field

from service.store.records.base import ClinicRow, between


class ClinicProtocolRow(ClinicRow, table=True):
    """A version of a protocol from a date on. Rows are only ever added."""

    __tablename__ = "clinic_protocol"
    __table_args__ = (
        UniqueConstraint("clinic_id", "name", "number"),
        CheckConstraint("(minutes IS NULL) <> (waking_percent IS NULL)", name="one_amount"),
        CheckConstraint("(band_set IS NULL) = (severity IS NULL)", name="band_and_set"),
        between("minutes", 1, 960),
        between("waking_percent", 1, 100),
    )
    public_id: str = Field(unique=True)
    name: str
    number: int
    from_on: date
    aetiology: str | None
    from_month: int
    below_month: int
    band_set: str | None
    severity: str | None
    minutes: int | None
    waking_percent: int | None
    pattern: str
    review_weeks: int
    near_work: str
    author: str
    reference: str
    ended: bool
    entered_by: int = Field(foreign_key="staff.id")
    entered_at: datetime
