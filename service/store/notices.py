"""Notices to the staff: said once, until somebody has seen them."""

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from sqlmodel import Session, and_, col, or_, select

from service.documents import message_from_json, message_to_json
from service.errors import NotAllowedError, NotFoundError
from service.facts import Child, Staff
from service.facts_of_care import Notice
from service.store.keyset import page_ids
from service.store.records import ChildRow, NoticeRow
from service.tokens import new_public_id
from shared.findings import Message

_WAITING = col(NoticeRow.seen_at).is_(None)


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


def withdraw(session: Session, child: Child, about: str, now: datetime) -> None:
    """What was said about something that has changed since no longer waits for anybody."""
    rows = session.exec(select(NoticeRow).where(NoticeRow.child_id == child.id, col(NoticeRow.seen_at).is_(None))).all()
    for row in rows:
        if row.dedupe_key.startswith(f"{about}|"):
            row.seen_at = now
    session.flush()


def notices(session: Session, staff: Staff) -> list[Notice]:
    """What waits for this person or for the whole clinic, infants first, then the oldest."""
    return _read(session, and_(_for(staff), _WAITING), col(NoticeRow.urgent).desc(), col(NoticeRow.id))


def notices_behind(session: Session, staff: Staff, after: str | None, limit: int) -> list[Notice]:
    """One page of them, oldest first; `after` is a public id, also of one that was seen since."""
    ids = page_ids(session, NoticeRow, _for(staff), after, limit, _WAITING)
    return _read(session, col(NoticeRow.id).in_(ids), col(NoticeRow.id))


def _for(staff: Staff) -> Any:
    return and_(NoticeRow.clinic_id == staff.clinic_id, or_(col(NoticeRow.for_staff).is_(None), NoticeRow.for_staff == staff.id))


def _read(session: Session, which: Any, *order: Any) -> list[Notice]:
    rows = session.exec(select(NoticeRow, ChildRow).join(ChildRow, col(ChildRow.id) == col(NoticeRow.child_id)).where(which).order_by(*order)).all()
    return [
        Notice(n.public_id, child.public_id, child.short_name, n.urgent, message_from_json(n.message), n.for_staff is not None, n.made_at) for n, child in rows
    ]


def mark_seen(session: Session, staff: Staff, public_id: str, now: datetime) -> None:
    """Raises `NotAllowedError` for a role that does not examine, `NotFoundError` for a notice of another clinic or another signer."""
    if not staff.examines:
        raise NotAllowedError
    row = session.exec(select(NoticeRow).where(NoticeRow.public_id == public_id, NoticeRow.clinic_id == staff.clinic_id)).first()
    if row is None or row.for_staff not in (None, staff.id):
        raise NotFoundError
    if row.seen_at is None:
        row.seen_by, row.seen_at = staff.id, now
