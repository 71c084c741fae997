"""What families told the clinic, and each step that staff took with it. Rows are only ever added."""

from datetime import datetime

from sqlalchemy import UniqueConstraint
from sqlmodel import Field

from service.store.records.base import ClinicRow, one_of


class TellingRow(ClinicRow, table=True):
    __tablename__ = "telling"
    __table_args__ = (
        UniqueConstraint("subscription_id", "client_key"),
        one_of("about", "signs", "lens-lost", "lens-broken", "glasses", "skin", "patches", "refuses", "double-vision", "question"),
        one_of("eye", "right", "left"),
    )
    public_id: str = Field(unique=True)
    child_id: int = Field(foreign_key="child.id", index=True)
    subscription_id: int = Field(foreign_key="subscription.id", index=True)
    client_key: str
    about: str
    eye: str | None
    text: str
    said_at: datetime | None = None
    told_at: datetime


class TellingStepRow(ClinicRow, table=True):
    """Taken by somebody, or closed with an answer to the family and a note for the staff."""

    __tablename__ = "telling_step"
    __table_args__ = (UniqueConstraint("telling_id", "step"), one_of("step", "taken", "closed"))
    telling_id: int = Field(foreign_key="telling.id", index=True)
    step: str
    answer: str = ""
    note: str = ""
    made_by: int = Field(foreign_key="staff.id")
    made_at: datetime
