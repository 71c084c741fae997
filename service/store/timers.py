"""Timers: one a caregiver at a time."""

from datetime import datetime

from sqlmodel import Session, col, select

from service.facts import Child, Subscription, Timer
from service.store.records import TimerRow
from service.tokens import new_public_id


def add(session: Session, child: Child, subscription: Subscription, client_key: str, started_at: datetime) -> Timer:
    row = TimerRow(
        clinic_id=child.clinic_id,
        public_id=new_public_id(),
        child_id=child.id,
        subscription_id=subscription.id,
        client_key=client_key,
        started_at=started_at,
    )
    session.add(row)
    session.flush()
    return _timer(row)


def running(session: Session, subscription: Subscription) -> Timer | None:
    mine = select(TimerRow).where(TimerRow.subscription_id == subscription.id, col(TimerRow.stopped_at).is_(None)).order_by(col(TimerRow.id).desc())
    row = session.exec(mine).first()
    return _timer(row) if row else None


def of_key(session: Session, subscription: Subscription, client_key: str) -> Timer | None:
    row = session.exec(select(TimerRow).where(TimerRow.subscription_id == subscription.id, TimerRow.client_key == client_key)).first()
    return _timer(row) if row else None


def stop(session: Session, timer: Timer, now: datetime) -> None:
    row = session.exec(select(TimerRow).where(TimerRow.public_id == timer.public_id)).one()
    row.stopped_at = row.stopped_at or now
    session.flush()


def _timer(row: TimerRow) -> Timer:
    return Timer(row.public_id, row.client_key, row.started_at, row.stopped_at)
