"""Clinics, staff and their keys."""

from datetime import datetime
from uuid import UUID

from sqlalchemy import UniqueConstraint
from sqlmodel import Field, SQLModel

from service.store.records.base import ClinicRow, Row, json_column, one_of


class Installation(SQLModel, table=True):
    id: int = Field(primary_key=True)
    namespace: UUID


class SignInAttempt(Row, table=True):
    __tablename__ = "sign_in_attempt"
    subject: str = Field(index=True)
    at: datetime


class Clinic(Row, table=True):
    public_id: str = Field(unique=True)
    name: str
    town: str
    phone: str
    out_of_hours: str
    time_zone: str
    locale: str
    demo: bool = False
    not_brought_pathway: str = ""  # the clinic's own text, for its staff


class StaffRow(ClinicRow, table=True):
    __tablename__ = "staff"
    __table_args__ = (one_of("role", "administrator", "orthoptist", "optometrist", "clinician", "reception"),)
    public_id: str = Field(unique=True)
    name: str
    role: str
    sign_in_name: str = Field(unique=True)
    password_hash: str
    active: bool = True


class StaffSession(ClinicRow, table=True):
    __tablename__ = "staff_session"
    staff_id: int = Field(foreign_key="staff.id")
    token_hash: str = Field(unique=True)
    started_at: datetime
    expires_at: datetime
    ended_at: datetime | None = None


class ApiToken(ClinicRow, table=True):
    __tablename__ = "api_token"
    staff_id: int = Field(foreign_key="staff.id")
    token_hash: str = Field(unique=True)
    label: str
    created_at: datetime
    revoked_at: datetime | None = None


class ClinicRulesRow(ClinicRow, table=True):
    """What a clinic has set for its reviews, from a moment on. Rows are only ever added."""

    __tablename__ = "clinic_rules"
    __table_args__ = (UniqueConstraint("clinic_id", "number"),)
    number: int
    low_share: float
    over_share: float
    lens_off_dioptres: float
    rules_off: list[str] = json_column()
    reason: str
    set_by: int = Field(foreign_key="staff.id")
    set_at: datetime


class SignRight(ClinicRow, table=True):
    """Who may sign what, as data."""

    __tablename__ = "sign_right"
    __table_args__ = (UniqueConstraint("clinic_id", "role", "kind"),)
    role: str
    kind: str
