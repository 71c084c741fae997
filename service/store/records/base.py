"""What every table shares, and the shapes of constraints."""

from typing import Any

from sqlalchemy import JSON, CheckConstraint, Column
from sqlmodel import Field, SQLModel


class Row(SQLModel):
    id: int | None = Field(default=None, primary_key=True)


class ClinicRow(Row):
    """A row that belongs to one clinic."""

    clinic_id: int = Field(foreign_key="clinic.id", index=True)


def json_column() -> Any:
    return Field(sa_column=Column(JSON, nullable=False))


def one_of(column: str, *values: str) -> CheckConstraint:
    return CheckConstraint(f"{column} IN ({', '.join(repr(v) for v in values)})", name=f"{column}_known")


def between(column: str, low: float, high: float) -> CheckConstraint:
    return CheckConstraint(f"{column} IS NULL OR ({column} >= {low} AND {column} <= {high})", name=f"{column}_range")
