"""Wear entries: only ever added."""

from datetime import date, datetime

from sqlmodel import Session, col, select

from schedules.adherence import WearEntry
from service.errors import NotFoundError
from service.facts import Child
from service.store.keyset import page_ids
from service.store.records import WearRow
from service.tokens import new_public_id


def add_entry(
    session: Session,
    child: Child,
    recorded_by: str,
    *,
    client_key: str,
    local_on: date,
    minutes: int,
    reason: str | None,
    correction_worn: bool | None,
    replaces: str | None,
    withdrawn: bool,
    now: datetime,
    span: tuple[datetime, datetime] | None = None,
    said_at: datetime | None = None,
) -> WearEntry:
    """The same `client_key` of the same recorder again gives the entry the first one made."""
    earlier = entry_of_key(session, recorded_by, client_key)
    if earlier:
        return earlier
    row = WearRow(
        clinic_id=child.clinic_id,
        public_id=new_public_id(),
        child_id=child.id,
        recorded_by=recorded_by,
        client_key=client_key,
        local_on=local_on,
        minutes=minutes,
        reason=reason,
        correction_worn=correction_worn,
        replaces_id=_row(session, child, replaces).id if replaces else None,
        withdrawn=withdrawn,
        started_at=span[0] if span else None,
        ended_at=span[1] if span else None,
        said_at=said_at,
        recorded_at=now,
    )
    session.add(row)
    session.flush()
    return _entry(row, replaces)


def entry_of_key(session: Session, recorded_by: str, client_key: str) -> WearEntry | None:
    row = session.exec(select(WearRow).where(WearRow.recorded_by == recorded_by, WearRow.client_key == client_key)).first()
    return _entry(row, None) if row else None


def entry(session: Session, child: Child, public_id: str) -> WearEntry:
    return _entry(_row(session, child, public_id), None)


def entries(session: Session, child_id: int, first_on: date, end_on: date) -> list[WearEntry]:
    """All that was said about the days of the half-open span, oldest first, replaced and withdrawn ones too."""
    rows = session.exec(
        select(WearRow)
        .where(WearRow.child_id == child_id, WearRow.local_on >= first_on, WearRow.local_on < end_on)
        .order_by(col(WearRow.recorded_at), col(WearRow.id))
    ).all()
    names = {row.id: row.public_id for row in rows}
    return [_entry(row, names.get(row.replaces_id) if row.replaces_id else None) for row in rows]


def entries_behind(session: Session, child: Child, after: str | None, limit: int) -> list[WearEntry]:
    """One page in the order they were noted; `after` is an entry's key."""
    ids = page_ids(session, WearRow, WearRow.child_id == child.id, after, limit)
    rows = session.exec(select(WearRow).where(col(WearRow.id).in_(ids)).order_by(col(WearRow.id))).all()
    replaced = session.exec(select(WearRow).where(col(WearRow.id).in_([r.replaces_id for r in rows if r.replaces_id]))).all()
    names = {row.id: row.public_id for row in replaced}
    return [_entry(row, names.get(row.replaces_id) if row.replaces_id else None) for row in rows]


def _row(session: Session, child: Child, public_id: str) -> WearRow:
    row = session.exec(select(WearRow).where(WearRow.child_id == child.id, WearRow.public_id == public_id)).first()
    if row is None:
        raise NotFoundError
    return row


def _entry(row: WearRow, replaces: str | None) -> WearEntry:
    return WearEntry(
        key=row.public_id,
        local_on=row.local_on,
        minutes=row.minutes,
        correction_worn=row.correction_worn,
        replaces=replaces,
        withdrawn=row.withdrawn,
        recorded_at=row.recorded_at,
        reason=row.reason,
        recorded_by=row.recorded_by,
        started_at=row.started_at,
        ended_at=row.ended_at,
    )
