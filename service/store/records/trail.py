"""What goes along with a change."""

from datetime import datetime
from typing import Any

from sqlalchemy import UniqueConstraint

from service.store.records.base import ClinicRow, json_column


class AuditRow(ClinicRow, table=True):
    __tablename__ = "audit"
    at: datetime
    who: str
    action: str
    subject: str
    detail: dict[str, Any] = json_column()


class SubmissionRow(ClinicRow, table=True):
    """A form that was already taken: the same key again answers with what the first one made."""

    __tablename__ = "submission"
    __table_args__ = (UniqueConstraint("clinic_id", "key"),)
    key: str
    action: str
    result: str
    at: datetime
