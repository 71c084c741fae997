"""What a clinic keeps as versions that hold from a day on: rows are only ever added, each with who entered it."""

from typing import Any

from sqlalchemy.exc import IntegrityError
from sqlmodel import Session, col, select

from service.errors import ChangedMeanwhileError, NotFoundError
from service.store.keyset import page_ids
from service.store.records import StaffRow

Entered = tuple[Any, str]  # a row, and the name of who entered it


def add(session: Session, row: Any) -> str:
    """The row's public id. Raises `ChangedMeanwhileError` where somebody else has entered this version."""
    public_id = str(row.public_id)
    try:
        with session.begin_nested():
            session.add(row)
    except IntegrityError:
        raise ChangedMeanwhileError from None
    return public_id


def of_clinic(session: Session, table: Any, clinic_id: int, *order: str) -> list[Entered]:
    """Every version, in the order of the columns named."""
    return _read(session, table, table.clinic_id == clinic_id, *(col(getattr(table, name)) for name in order))


def behind(session: Session, table: Any, clinic_id: int, after: str | None, limit: int) -> list[Entered]:
    """One page of versions in the order they were entered; `after` is a public id."""
    ids = page_ids(session, table, table.clinic_id == clinic_id, after, limit)
    return _read(session, table, col(table.id).in_(ids), col(table.id))


def one(session: Session, table: Any, clinic_id: int, public_id: str) -> Entered:
    """Raises `NotFoundError` for a version that is not this clinic's."""
    found = _read(session, table, (table.clinic_id == clinic_id) & (table.public_id == public_id))
    if not found:
        raise NotFoundError
    return found[0]


def _read(session: Session, table: Any, which: Any, *order: Any) -> list[Entered]:
    rows = session.exec(select(table, StaffRow).join(StaffRow, col(StaffRow.id) == col(table.entered_by)).where(which).order_by(*order)).all()
    return [(row, who.name) for row, who in rows]
