"""Booked visits, and who changed them."""

from datetime import date, datetime
from typing import Any

from sqlmodel import Session, col, select

from service.errors import ChangedMeanwhileError, NotFoundError
from service.facts import Child, Staff
from service.facts_of_care import Booking, BookingChange
from service.store.keyset import page_ids
from service.store.records import BookingChangeRow, BookingRow, StaffRow
from service.tokens import new_public_id
from shared.vocabulary import BookingKind, BookingState


def add_booking(session: Session, child: Child, staff: Staff, kind: BookingKind, on: date, reason: str, now: datetime) -> str:
    row = BookingRow(clinic_id=child.clinic_id, public_id=new_public_id(), child_id=child.id, kind=kind, on=on, state=BookingState.BOOKED)
    session.add(row)
    session.flush()
    _add_change(session, row, staff, reason, now)
    return row.public_id


def change_booking(
    session: Session, child: Child, public_id: str, staff: Staff, *, version: int, on: date, state: BookingState, reason: str, now: datetime
) -> None:
    """Raises `ChangedMeanwhileError` when `version` is no longer the newest."""
    row = session.exec(
        select(BookingRow).where(BookingRow.child_id == child.id, BookingRow.public_id == public_id).with_for_update().execution_options(populate_existing=True)
    ).first()
    if row is None:
        raise NotFoundError
    if row.version != version:
        raise ChangedMeanwhileError
    row.on, row.state, row.version = on, state, version + 1
    _add_change(session, row, staff, reason, now)


def _add_change(session: Session, row: BookingRow, staff: Staff, reason: str, now: datetime) -> None:
    assert row.id is not None
    session.add(
        BookingChangeRow(
            clinic_id=row.clinic_id, booking_id=row.id, version=row.version, on=row.on, state=row.state, reason=reason, changed_by=staff.id, changed_at=now
        )
    )
    session.flush()


def booking(session: Session, child: Child, public_id: str) -> Booking:
    """Raises `NotFoundError` for an unknown booking and for one of another child alike."""
    found = next((b for b in bookings(session, child) if b.public_id == public_id), None)
    if found is None:
        raise NotFoundError
    return found


def bookings(session: Session, child: Child) -> list[Booking]:
    """By date, with every change oldest first."""
    return _read(session, BookingRow.child_id == child.id, col(BookingRow.on), col(BookingRow.id))


def bookings_behind(session: Session, child: Child, after: str | None, limit: int) -> list[Booking]:
    """One page in the order they were booked; `after` is a public id."""
    ids = page_ids(session, BookingRow, BookingRow.child_id == child.id, after, limit)
    return _read(session, col(BookingRow.id).in_(ids), col(BookingRow.id))


def _read(session: Session, which: Any, *order: Any) -> list[Booking]:
    rows = session.exec(select(BookingRow).where(which).order_by(*order)).all()
    found = session.exec(
        select(BookingChangeRow, StaffRow)
        .join(StaffRow, col(StaffRow.id) == col(BookingChangeRow.changed_by))
        .where(col(BookingChangeRow.booking_id).in_([r.id for r in rows]))
        .order_by(col(BookingChangeRow.version))
    ).all()
    changes: dict[int, list[BookingChange]] = {}
    for c, who in found:
        changes.setdefault(c.booking_id, []).append(BookingChange(c.on, BookingState(c.state), c.reason, who.name, c.changed_at))
    return [Booking(r.id or 0, r.public_id, BookingKind(r.kind), r.on, BookingState(r.state), r.version, tuple(changes[r.id or 0])) for r in rows]
