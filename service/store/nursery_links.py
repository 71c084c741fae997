"""Links for a nursery or a school: one place, one child, until a date."""

from datetime import date, datetime

from sqlmodel import Session, col, select

from service.errors import NotFoundError
from service.facts import Child, NurseryLink
from service.store.keyset import page_ids
from service.store.records import NurseryLinkRow
from service.tokens import new_public_id, token_hash


def add(session: Session, child: Child, *, place: str, label: str, until_on: date, token: str, now: datetime) -> NurseryLink:
    row = NurseryLinkRow(
        clinic_id=child.clinic_id,
        public_id=new_public_id(),
        child_id=child.id,
        place=place,
        label=label,
        until_on=until_on,
        token_hash=token_hash(token),
        created_at=now,
    )
    session.add(row)
    session.flush()
    return _link(row)


def given(session: Session, child: Child) -> list[NurseryLink]:
    rows = session.exec(select(NurseryLinkRow).where(NurseryLinkRow.child_id == child.id).order_by(col(NurseryLinkRow.id))).all()
    return [_link(r) for r in rows]


def given_behind(session: Session, child: Child, after: str | None, limit: int) -> list[NurseryLink]:
    """One page in the order they were given; `after` is a public id."""
    ids = page_ids(session, NurseryLinkRow, NurseryLinkRow.child_id == child.id, after, limit)
    rows = session.exec(select(NurseryLinkRow).where(col(NurseryLinkRow.id).in_(ids)).order_by(col(NurseryLinkRow.id))).all()
    return [_link(r) for r in rows]


def of_token(session: Session, token: str) -> NurseryLink:
    """Raises `NotFoundError` for an unknown and for a revoked link alike. Whether it has expired depends on the child's own date: the caller's."""
    row = session.exec(select(NurseryLinkRow).where(NurseryLinkRow.token_hash == token_hash(token), col(NurseryLinkRow.revoked_at).is_(None))).first()
    if row is None:
        raise NotFoundError
    return _link(row)


def revoke(session: Session, child: Child, public_id: str, now: datetime) -> None:
    row = session.exec(select(NurseryLinkRow).where(NurseryLinkRow.child_id == child.id, NurseryLinkRow.public_id == public_id)).first()
    if row is None:
        raise NotFoundError
    row.revoked_at = row.revoked_at or now
    session.flush()


def _link(row: NurseryLinkRow) -> NurseryLink:
    return NurseryLink(row.public_id, row.clinic_id, row.child_id, row.place, row.label, row.until_on, row.created_at, row.revoked_at)
