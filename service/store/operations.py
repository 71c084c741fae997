"""Signed operations."""

from datetime import date, datetime

from sqlmodel import Session, col, select

from service.facts import Child, Staff
from service.facts_of_care import SignedOperation
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
    rows = session.exec(
        select(OperationRow, StaffRow)
        .join(StaffRow, col(StaffRow.id) == col(OperationRow.signed_by))
        .where(OperationRow.child_id == child.id)
        .order_by(col(OperationRow.on), col(OperationRow.id))
    ).all()
    return [SignedOperation(r.public_id, Operation(r.operation), Laterality(r.eye) if r.eye else None, r.on, r.note, who.name, r.signed_at) for r, who in rows]
