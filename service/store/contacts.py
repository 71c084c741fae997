"""Where caregivers can be reached."""

from collections.abc import Mapping
from datetime import datetime

from sqlmodel import Session, col, select

from service.errors import NotFoundError
from service.facts import Subscription
from service.facts_of_messages import ChannelName, Contact
from service.store.keyset import page_ids
from service.store.records import ContactRow
from service.tokens import new_public_id


def save(session: Session, subscription: Subscription, channel: ChannelName, address: str, keys: Mapping[str, str], now: datetime) -> Contact:
    """The same address again is the one there was, as if it were new."""
    found = select(ContactRow).where(ContactRow.subscription_id == subscription.id, ContactRow.channel == channel, ContactRow.address == address)
    row = session.exec(found).first()
    if row is None:
        row = ContactRow(
            clinic_id=subscription.clinic_id,
            public_id=new_public_id(),
            subscription_id=subscription.id,
            channel=channel,
            address=address,
            keys={},
            added_at=now,
        )
        session.add(row)
    row.keys, row.off_at, row.bounced_at, row.gone_at = dict(keys), None, None, None
    session.flush()
    return _contact(row)


def of(session: Session, subscription_id: int) -> list[Contact]:
    """Those in use, in the order they were given."""
    rows = session.exec(
        select(ContactRow).where(ContactRow.subscription_id == subscription_id, col(ContactRow.gone_at).is_(None)).order_by(col(ContactRow.id))
    ).all()
    return [_contact(r) for r in rows]


def behind(session: Session, subscription: Subscription, after: str | None, limit: int) -> list[Contact]:
    """One page in the order they were given; `after` is a public id."""
    ids = page_ids(session, ContactRow, ContactRow.subscription_id == subscription.id, after, limit, col(ContactRow.gone_at).is_(None))
    return [c for c in of(session, subscription.id) if c.id in ids]


def by_id(session: Session, contact_id: int) -> Contact:
    return _contact(session.get_one(ContactRow, contact_id))


def by_public_id(session: Session, subscription: Subscription, public_id: str) -> Contact:
    """Raises `NotFoundError` for one that is not in use or not this caregiver's."""
    return _contact(_row(session, subscription, public_id))


def remove(session: Session, subscription: Subscription, public_id: str, now: datetime) -> None:
    _row(session, subscription, public_id).gone_at = now
    session.flush()


def turn(session: Session, subscription: Subscription, public_id: str, off_at: datetime | None) -> None:
    """Reminders off from a moment on, or on again."""
    _row(session, subscription, public_id).off_at = off_at
    session.flush()


def note_bounced(session: Session, contact_id: int, at: datetime | None) -> None:
    """Refused for good at a moment, or not any more."""
    session.get_one(ContactRow, contact_id).bounced_at = at


def note_gone(session: Session, contact_id: int, now: datetime) -> None:
    session.get_one(ContactRow, contact_id).gone_at = now


def _row(session: Session, subscription: Subscription, public_id: str) -> ContactRow:
    mine = select(ContactRow).where(ContactRow.subscription_id == subscription.id, ContactRow.public_id == public_id)
    row = session.exec(mine.where(col(ContactRow.gone_at).is_(None))).first()
    if row is None:
        raise NotFoundError
    return row


def _contact(row: ContactRow) -> Contact:
    assert row.id is not None
    return Contact(
        id=row.id,
        public_id=row.public_id,
        subscription_id=row.subscription_id,
        channel=ChannelName(row.channel),
        address=row.address,
        keys=row.keys,
        added_at=row.added_at,
        off_at=row.off_at,
        bounced_at=row.bounced_at,
        gone_at=row.gone_at,
    )
