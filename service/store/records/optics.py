"""Lens ranges and near tables of a clinic, the lenses of its children and what became of each, and made-up lenses measured against their order."""

from datetime import date, datetime
from typing import Any

from sqlalchemy import UniqueConstraint
from sqlmodel import Field

from service.store.records.base import ClinicRow, between, json_column, one_of


class LensRangeRow(ClinicRow, table=True):
    """A version of a range from a date on, sizes as they are typed. Rows are only ever added."""

    __tablename__ = "lens_range"
    __table_args__ = (UniqueConstraint("clinic_id", "name", "number"),)
    public_id: str = Field(unique=True)
    name: str
    number: int
    from_on: date
    powers: str
    base_curves_mm: str
    diameters_mm: str
    material: str | None
    wear_schedule: str | None
    ended: bool
    entered_by: int = Field(foreign_key="staff.id")
    entered_at: datetime


class NearTableRow(ClinicRow, table=True):
    """A version of the clinic's table for near from a date on, rows as they are typed; "": the built-in one. Rows are only ever added."""

    __tablename__ = "near_table"
    __table_args__ = (UniqueConstraint("clinic_id", "number"),)
    public_id: str = Field(unique=True)
    number: int
    from_on: date
    near_rows: str
    author: str
    entered_by: int = Field(foreign_key="staff.id")
    entered_at: datetime


class LensRow(ClinicRow, table=True):
    """One lens for one eye; what became of it stands in its entries."""

    __tablename__ = "lens"
    __table_args__ = (one_of("eye", "right", "left"), one_of("power_plane", "back-vertex", "front-vertex"), between("power", -40, 60))
    public_id: str = Field(unique=True)
    child_id: int = Field(foreign_key="child.id", index=True)
    correction_id: int = Field(foreign_key="correction.id")
    eye: str
    power: float
    power_plane: str
    base_curve_mm: float | None
    diameter_mm: float | None


class LensEntryRow(ClinicRow, table=True):
    """A line of the ledger. Rows are only ever added."""

    __tablename__ = "lens_entry"
    __table_args__ = (
        UniqueConstraint("lens_id", "number"),
        one_of("state", "ordered", "arrived", "in-use", "taken-out", "lost", "found", "broken", "out-of-date"),
    )
    lens_id: int = Field(foreign_key="lens.id", index=True)
    number: int
    state: str
    on: date
    note: str
    recorded_by: int = Field(foreign_key="staff.id")
    recorded_at: datetime


class LensCheckRow(ClinicRow, table=True):
    """Made-up lenses as measured; whether they pass is worked out from the order. Rows are only ever added."""

    __tablename__ = "lens_check"
    correction_id: int = Field(foreign_key="correction.id", index=True)
    measured: dict[str, Any] = json_column()
    recorded_by: int = Field(foreign_key="staff.id")
    recorded_at: datetime
