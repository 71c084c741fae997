"""Operations, booked visits and notices to the staff."""

from collections.abc import Sequence
from datetime import date, datetime

from sqlmodel import Session, col, or_, select

from service.documents import message_from_json, message_to_json
from service.errors import ChangedMeanwhileError, NotFoundError
from service.facts import Child, Staff
from service.facts_of_care import Booking, BookingChange, Notice, SignedOperation
from service.store.records import BookingChangeRow, BookingRow, ChildRow, NoticeRow, OperationRow, StaffRow
from service.tokens import new_public_id
from shared.findings import Message
from shared.vocabulary import BookingKind, BookingState, Laterality, Operation


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


def bookings(session: Session, child: Child) -> list[Booking]:
    """By date, with every change oldest first."""
    rows = session.exec(select(BookingRow).where(BookingRow.child_id == child.id).order_by(col(BookingRow.on), col(BookingRow.id))).all()
    found = session.exec(
        select(BookingChangeRow, StaffRow)
        .join(StaffRow, col(StaffRow.id) == col(BookingChangeRow.changed_by))
        .where(col(BookingChangeRow.booking_id).in_([r.id for r in rows]))
        .order_by(col(BookingChangeRow.version))
    ).all()
    changes: dict[int, list[BookingChange]] = {}
    for c, who in found:
        changes.setdefault(c.booking_id, []).append(BookingChange(c.on, BookingState(c.state), c.reason, who.name, c.changed_at))
    return [Booking(r.public_id, BookingKind(r.kind), r.on, BookingState(r.state), r.version, tuple(changes[r.id or 0])) for r in rows]


def notify(session: Session, child: Child, signers: Sequence[int | None], message: Message, about: str, urgent: bool, now: datetime) -> None:
    """One notice each, to a member of staff by id or (None) to the clinic; the same thing is said once."""
    for staff_id in dict.fromkeys(signers):
        key = f"{about}|{staff_id or 'clinic'}"
        if session.exec(select(NoticeRow.id).where(NoticeRow.dedupe_key == key)).first() is None:
            row = NoticeRow(
                clinic_id=child.clinic_id,
                public_id=new_public_id(),
                child_id=child.id,
                for_staff=staff_id,
                urgent=urgent,
                message=message_to_json(message),
                dedupe_key=key,
                made_at=now,
            )
            session.add(row)
    session.flush()


def notices(session: Session, staff: Staff) -> list[Notice]:
    """What waits for this person or for the whole clinic, infants first, then the oldest."""
    rows = session.exec(
        select(NoticeRow, ChildRow)
        .join(ChildRow, col(ChildRow.id) == col(NoticeRow.child_id))
        .where(
            NoticeRow.clinic_id == staff.clinic_id, col(NoticeRow.seen_at).is_(None), or_(col(NoticeRow.for_staff).is_(None), NoticeRow.for_staff == staff.id)
        )
        .order_by(col(NoticeRow.urgent).desc(), col(NoticeRow.id))
    ).all()
    return [
        Notice(n.public_id, child.public_id, child.short_name, n.urgent, message_from_json(n.message), n.for_staff is not None, n.made_at) for n, child in rows
    ]


def mark_seen(session: Session, staff: Staff, public_id: str, now: datetime) -> None:
    """Raises `NotFoundError` for a notice of another clinic or another signer."""
    row = session.exec(select(NoticeRow).where(NoticeRow.public_id == public_id, NoticeRow.clinic_id == staff.clinic_id)).first()
    if row is None or row.for_staff not in (None, staff.id):
        raise NotFoundError
    if row.seen_at is None:
        row.seen_by, row.seen_at = staff.id, now
