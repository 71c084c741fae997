"""Signed operations."""

from datetime import date, datetime
from typing import Any

from sqlmodel import Session, col, select

from service.errors import NotFoundError
from service.facts import Child, Staff
from service.facts_of_care import SignedOperation
from service.store.keyset import page_ids
from service.store.records import OperationRow, StaffRow
from service.tokens import new_public_id
from shared.vocabulary import Laterality, Operation


def add_operation(session: Session, child: Child, staff: Staff, operation: Operation, eye: Laterality | None, on: date, note: str, now: datetime) -> str:
    row = OperationRow(
        clinic_id=child.clinic_id,
        public_id=new_public_id(),
        child_id=child.id,
        operation=operation,
        eye=eye,
        on=on,
        note=note,
        signed_by=staff.id,
        signed_at=now,
    )
    session.add(row)
    session.flush()
    return row.public_id


def operations(session: Session, child: Child) -> list[SignedOperation]:
    """Oldest first, by the day of surgery."""
    return _read(session, OperationRow.child_id == child.id, col(OperationRow.on), col(OperationRow.id))


def operations_behind(session: Session, child: Child, after: str | None, limit: int) -> list[SignedOperation]:
    """One page in the order they were signed; `after` is a public id."""
    ids = page_ids(session, OperationRow, OperationRow.child_id == child.id, after, limit)
    return _read(session, col(OperationRow.id).in_(ids), col(OperationRow.id))


def operation(session: Session, child: Child, public_id: str) -> SignedOperation:
    """Raises `NotFoundError` for an unknown operation and for one of another child alike."""
    found = next((o for o in operations(session, child) if o.public_id == public_id), None)
    if found is None:
        raise NotFoundError
    return found


def _read(session: Session, which: Any, *order: Any) -> list[SignedOperation]:
    rows = session.exec(select(OperationRow, StaffRow).join(StaffRow, col(StaffRow.id) == col(OperationRow.signed_by)).where(which).order_by(*order)).all()
    return [SignedOperation(r.public_id, Operation(r.operation), Laterality(r.eye) if r.eye else None, r.on, r.note, who.name, r.signed_at) for r, who in rows]
