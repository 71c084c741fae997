"""A clinic's texts for families, and what caregivers have learnt. Rows are only ever added."""

from datetime import date, datetime
from typing import Any

from sqlalchemy import UniqueConstraint
from sqlmodel import Field

from service.store.records.base import ClinicRow, between, json_column, one_of


class FamilyTextsRow(ClinicRow, table=True):
    __tablename__ = "family_texts"
    __table_args__ = (UniqueConstraint("clinic_id", "number"),)
    public_id: str = Field(unique=True)
    number: int
    content: dict[str, Any] = json_column()
    entered_by: int = Field(foreign_key="staff.id")
    entered_at: datetime


class LearntRow(ClinicRow, table=True):
    __tablename__ = "learnt"
    __table_args__ = (one_of("skill", "put-in", "take-out", "clean"), between("level", 1, 3))
    public_id: str = Field(unique=True)
    child_id: int = Field(foreign_key="child.id", index=True)
    subscription_id: int = Field(foreign_key="subscription.id", index=True)
    skill: str
    level: int
    on: date
    recorded_by: int = Field(foreign_key="staff.id")
    recorded_at: datetime
