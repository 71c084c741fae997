"""Messages to caregivers: written with what causes them, claimed by one sender at a time, and kept with what became of them."""

from collections.abc import Mapping
from datetime import date, datetime
from typing import Any

from sqlalchemy import or_, update
from sqlmodel import Session, col, func, select

from schedules.reminders import ReminderKind
from service.facts import Child, Subscription
from service.facts_of_messages import ChannelName, Contact, Delivery, DeliveryState
from service.store.records import OutboxRow

PENDING = DeliveryState.PENDING


def key_of(kind: ReminderKind, about: str, recipient: Subscription, contact: Contact | None) -> str:
    """The same thing said to the same address: its second message cannot be written."""
    return "|".join((kind, about, recipient.public_id, *([contact.public_id] if contact else [])))


def add(
    session: Session,
    child: Child,
    recipient: Subscription,
    contact: Contact | None,
    kind: ReminderKind,
    about: str,
    on: date,
    detail: Mapping[str, Any],
    *,
    due_at: datetime,
    expires_at: datetime,
) -> None:
    """`contact` None: no address takes it, and the clinic sees that."""
    row = OutboxRow(
        clinic_id=child.clinic_id,
        child_id=child.id,
        subscription_id=recipient.id,
        contact_id=contact.id if contact else None,
        channel=contact.channel if contact else None,
        kind=kind,
        about=about,
        on=on,
        detail=dict(detail),
        dedupe_key=key_of(kind, about, recipient, contact),
        due_at=due_at,
        expires_at=expires_at,
        next_at=due_at,
        state=PENDING if contact else DeliveryState.UNREACHED,
    )
    session.add(row)


def claim(session: Session, claimed_by: str, now: datetime, lease_until: datetime, limit: int) -> list[Delivery]:
    """Messages that are now this sender's alone until the lease ends; one conditional update, so that no other has any of them."""
    free = or_(col(OutboxRow.lease_until).is_(None), col(OutboxRow.lease_until) <= now)
    due = select(OutboxRow.id).where(OutboxRow.state == PENDING, OutboxRow.next_at <= now, free).order_by(col(OutboxRow.next_at), col(OutboxRow.id))
    session.execute(
        update(OutboxRow)
        .where(col(OutboxRow.id).in_(due.limit(limit).with_for_update(skip_locked=True)))
        .values(claimed_by=claimed_by, lease_until=lease_until)
        .execution_options(synchronize_session=False)
    )
    mine = select(OutboxRow).where(OutboxRow.claimed_by == claimed_by, OutboxRow.state == PENDING).order_by(col(OutboxRow.next_at), col(OutboxRow.id))
    return [_delivery(row) for row in session.exec(mine).all()]


def renewed(session: Session, delivery_id: int, claimed_by: str) -> Delivery | None:
    """As it stands now; None where it is not this sender's any more, or has been settled."""
    query = select(OutboxRow).where(OutboxRow.id == delivery_id, OutboxRow.claimed_by == claimed_by, OutboxRow.state == PENDING)
    row = session.exec(query.execution_options(populate_existing=True)).first()
    return _delivery(row) if row else None


def settle(session: Session, delivery_id: int, claimed_by: str, state: DeliveryState, *, error: str | None = None, sent_at: datetime | None = None) -> None:
    _mine(session, delivery_id, claimed_by, state=state, error=error, sent_at=sent_at, lease_until=None)


def note_attempt(session: Session, delivery_id: int, claimed_by: str) -> None:
    """Before it is sent: a message that takes its sender down with it is counted too."""
    _mine(session, delivery_id, claimed_by, attempts=OutboxRow.attempts + 1)


def put_off(session: Session, delivery_id: int, claimed_by: str, next_at: datetime, *, attempts: int, error: str | None = None) -> None:
    _mine(session, delivery_id, claimed_by, next_at=next_at, attempts=attempts, error=error, claimed_by=None, lease_until=None)


def _mine(session: Session, delivery_id: int, held_by: str, **values: Any) -> None:
    """Nothing where the lease ran out and another took it over."""
    mine = (col(OutboxRow.id) == delivery_id, col(OutboxRow.claimed_by) == held_by)
    session.execute(update(OutboxRow).where(*mine).values(**values).execution_options(synchronize_session=False))


def planned(session: Session, subscription_id: int, from_on: date) -> dict[str, Delivery]:
    """What a date caused, and no signature, by its key."""
    of_dates = [kind for kind in ReminderKind if not kind.of_plan]
    query = select(OutboxRow).where(OutboxRow.subscription_id == subscription_id, col(OutboxRow.on) >= from_on, col(OutboxRow.kind).in_(of_dates))
    return {row.dedupe_key: _delivery(row) for row in session.exec(query).all()}


def move(session: Session, delivery_id: int, detail: Mapping[str, Any], *, due_at: datetime, expires_at: datetime) -> None:
    """A message that is due at another time than was thought, and waits for it."""
    row = session.get_one(OutboxRow, delivery_id)
    row.detail, row.due_at, row.next_at, row.expires_at, row.state, row.error = dict(detail), due_at, due_at, expires_at, PENDING, None


def withdraw(session: Session, delivery_id: int) -> None:
    session.get_one(OutboxRow, delivery_id).state = DeliveryState.CANCELLED


def of_child(session: Session, child: Child, now: datetime, limit: int) -> list[Delivery]:
    """The newest first, those still to come left out."""
    query = (
        select(OutboxRow)
        .where(OutboxRow.child_id == child.id, OutboxRow.due_at <= now)
        .order_by(col(OutboxRow.due_at).desc(), col(OutboxRow.id).desc())
        .limit(limit)
    )
    return [_delivery(row) for row in session.exec(query).all()]


def sent(session: Session, limit: int) -> list[Delivery]:
    query = select(OutboxRow).where(OutboxRow.state == DeliveryState.SENT).order_by(col(OutboxRow.sent_at).desc(), col(OutboxRow.id).desc()).limit(limit)
    return [_delivery(row) for row in session.exec(query).all()]


def states(session: Session, child: Child) -> list[tuple[str, str]]:
    """(kind, state) of the messages about a child, oldest first."""
    rows = session.exec(select(OutboxRow).where(OutboxRow.child_id == child.id).order_by(col(OutboxRow.id))).all()
    return [(r.kind, r.state) for r in rows]


def late_since(session: Session, clinic_id: int, before: datetime) -> datetime | None:
    """When the message was to be tried that has waited longest, of those that should have been tried before a moment; None where none waits."""
    query = select(func.min(OutboxRow.next_at)).where(OutboxRow.clinic_id == clinic_id, OutboxRow.state == PENDING, OutboxRow.next_at < before)
    return session.exec(query).one()


def _delivery(row: OutboxRow) -> Delivery:
    assert row.id is not None
    return Delivery(
        id=row.id,
        child_id=row.child_id,
        subscription_id=row.subscription_id,
        contact_id=row.contact_id,
        channel=ChannelName(row.channel) if row.channel else None,
        kind=ReminderKind(row.kind),
        about=row.about,
        on=row.on,
        dedupe_key=row.dedupe_key,
        detail=row.detail,
        due_at=row.due_at,
        expires_at=row.expires_at,
        state=DeliveryState(row.state),
        attempts=row.attempts,
        sent_at=row.sent_at,
        error=row.error,
    )
