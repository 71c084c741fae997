"""Subscriptions, and what their calendars were promised."""

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import or_, update
from sqlmodel import Session, col, select

from schedules.feed import Published, next_changed_at
from schedules.feed_items import ItemKind
from schedules.feed_style import CareGroup, Colour, FeedStyle, Language, Shown
from schedules.reminders import ReminderKind, Wishes
from service.errors import NotFoundError
from service.facts import Child, FeedState, RetiredAddress, Subscription
from service.store.keyset import page_ids
from service.store.records import ChildRow, ContactRow, PublishedItemRow, RetiredFeedRow, SubscriptionRow
from service.tokens import new_public_id, token_hash

STALE = -1  # no version of facts: what was made from them is made anew


def add_subscription(session: Session, child: Child, *, caregiver: str, style: FeedStyle, feed_token: str, page_token: str, now: datetime) -> Subscription:
    row = SubscriptionRow(
        clinic_id=child.clinic_id,
        public_id=new_public_id(),
        child_id=child.id,
        caregiver=caregiver,
        **_written(style),
        feed_token_hash=token_hash(feed_token),
        page_token_hash=token_hash(page_token),
        created_at=now,
        feed_changed_at=now,
        wishes=_wishes_written(Wishes()),
    )
    session.add(row)
    session.flush()
    return _subscription(row)


def subscriptions(session: Session, child_id: int) -> list[Subscription]:
    rows = session.exec(select(SubscriptionRow).where(SubscriptionRow.child_id == child_id).order_by(col(SubscriptionRow.id))).all()
    return [_subscription(r) for r in rows]


def subscriptions_behind(session: Session, child: Child, after: str | None, limit: int) -> list[Subscription]:
    """One page in the order they were given; `after` is a public id."""
    ids = page_ids(session, SubscriptionRow, SubscriptionRow.child_id == child.id, after, limit)
    return [s for s in subscriptions(session, child.id) if s.id in ids]


def open_subscription_ids(session: Session) -> list[int]:
    return [i for i in session.exec(select(SubscriptionRow.id).where(col(SubscriptionRow.revoked_at).is_(None))).all() if i is not None]


def subscription_by_id(session: Session, subscription_id: int) -> Subscription:
    return _subscription(session.get_one(SubscriptionRow, subscription_id))


def subscription_of_feed(session: Session, token: str) -> Subscription | None:
    row = session.exec(select(SubscriptionRow).where(SubscriptionRow.feed_token_hash == token_hash(token))).first()
    return _subscription(row) if row else None


def subscription_of_page(session: Session, token: str) -> Subscription:
    """Raises `NotFoundError` for an unknown and for a revoked link alike."""
    row = session.exec(select(SubscriptionRow).where(SubscriptionRow.page_token_hash == token_hash(token), col(SubscriptionRow.revoked_at).is_(None))).first()
    if row is None:
        raise NotFoundError
    return _subscription(row)


def subscription_by_public_id(session: Session, public_id: str) -> Subscription:
    row = session.exec(select(SubscriptionRow).where(SubscriptionRow.public_id == public_id, col(SubscriptionRow.revoked_at).is_(None))).first()
    if row is None:
        raise NotFoundError
    return _subscription(row)


def open_subscription(session: Session, child: Child, public_id: str) -> Subscription:
    """Raises `NotFoundError` for a link that is closed or not this child's."""
    return _subscription(_open_row(session, child, public_id, held=False))


def save_style(session: Session, child: Child, public_id: str, style: FeedStyle) -> Subscription:
    """The calendar's bytes are then made anew. Raises `NotFoundError` as `open_subscription` does."""
    row = _open_row(session, child, public_id)
    for name, value in (_written(style) | {"feed_made_from": "", "reminders_facts": STALE}).items():
        setattr(row, name, value)
    session.flush()
    return _subscription(row)


def save_wishes(session: Session, child: Child, public_id: str, wishes: Wishes) -> Subscription:
    """Reminders are then planned anew. Raises `NotFoundError` as `open_subscription` does."""
    row = _open_row(session, child, public_id)
    row.wishes, row.reminders_facts = _wishes_written(wishes), STALE
    session.flush()
    return _subscription(row)


def plan_reminders_anew(session: Session, subscription_id: int) -> None:
    session.get_one(SubscriptionRow, subscription_id).reminders_facts = STALE


def stale_reminders(session: Session, now: datetime, limit: int) -> list[int]:
    """Open links with an address whose planned reminders are not those of the present facts and day."""
    has_address = select(ContactRow.id).where(ContactRow.subscription_id == SubscriptionRow.id, col(ContactRow.gone_at).is_(None)).exists()
    stale = or_(col(SubscriptionRow.reminders_facts) != col(ChildRow.facts_version), col(SubscriptionRow.reminders_until) <= now)
    found = select(SubscriptionRow.id).join(ChildRow, col(ChildRow.id) == col(SubscriptionRow.child_id))
    rows = session.exec(found.where(col(SubscriptionRow.revoked_at).is_(None), stale, has_address).order_by(col(SubscriptionRow.id)).limit(limit))
    return [i for i in rows.all() if i is not None]


def reminders_are_stale(session: Session, subscription_id: int, facts_version: int, now: datetime) -> bool:
    """Holds the link until the end of the transaction: two who plan for it take turns."""
    query = select(SubscriptionRow).where(SubscriptionRow.id == subscription_id)
    row = session.exec(query.with_for_update().execution_options(populate_existing=True)).one()
    return row.reminders_facts != facts_version or row.reminders_until is None or row.reminders_until <= now


def note_reminders_planned(session: Session, subscription_id: int, facts_version: int, until: datetime) -> None:
    row = session.get_one(SubscriptionRow, subscription_id)
    row.reminders_facts, row.reminders_until = facts_version, until


def rotate(session: Session, child: Child, public_id: str, feed_token: str, now: datetime) -> Subscription:
    """The feed under another address. Raises `NotFoundError` as `open_subscription` does."""
    row = _open_row(session, child, public_id)
    assert row.id is not None
    changed_at = next_changed_at(row.feed_changed_at, now)
    retired = RetiredFeedRow(clinic_id=row.clinic_id, subscription_id=row.id, token_hash=row.feed_token_hash, retired_at=now, changed_at=changed_at)
    session.add(retired)
    row.feed_token_hash, row.fetched_at, row.fetched_by = token_hash(feed_token), None, None
    session.flush()
    return _subscription(row)


def retired_address(session: Session, token: str) -> RetiredAddress | None:
    row = session.exec(select(RetiredFeedRow).where(RetiredFeedRow.token_hash == token_hash(token))).first()
    return RetiredAddress(subscription_by_id(session, row.subscription_id), row.retired_at, row.changed_at) if row else None


def set_sees_others(session: Session, child: Child, public_id: str, sees: bool) -> Subscription:
    """The calendar's bytes are then made anew. Raises `NotFoundError` as `open_subscription` does."""
    row = _open_row(session, child, public_id)
    row.sees_others, row.feed_made_from = sees, ""
    session.flush()
    return _subscription(row)


def make_feeds_anew(session: Session, clinic_id: int) -> None:
    """After a change of what holds for every child of a clinic."""
    session.execute(update(SubscriptionRow).where(col(SubscriptionRow.clinic_id) == clinic_id).values(feed_made_from="", reminders_facts=STALE))


def _open_row(session: Session, child: Child, public_id: str, *, held: bool = True) -> SubscriptionRow:
    """`held` until the end of the transaction, two who change one link take turns."""
    mine = select(SubscriptionRow).where(SubscriptionRow.child_id == child.id, SubscriptionRow.public_id == public_id)
    still_open = mine.where(col(SubscriptionRow.revoked_at).is_(None))
    row = session.exec(still_open.with_for_update().execution_options(populate_existing=True) if held else still_open).first()
    if row is None:
        raise NotFoundError
    return row


def revoke(session: Session, child: Child, public_id: str, now: datetime) -> Subscription:
    row = session.exec(select(SubscriptionRow).where(SubscriptionRow.child_id == child.id, SubscriptionRow.public_id == public_id)).first()
    if row is None:
        raise NotFoundError
    row.revoked_at = row.revoked_at or now
    session.flush()
    return _subscription(row)


def note_fetch(session: Session, subscription_id: int, by: str, now: datetime) -> None:
    row = session.get_one(SubscriptionRow, subscription_id)
    row.fetched_at, row.fetched_by = now, by


def feed_state(session: Session, subscription_id: int, *, for_update: bool = False) -> FeedState:
    query = select(SubscriptionRow).where(SubscriptionRow.id == subscription_id)
    row = session.exec(query.with_for_update().execution_options(populate_existing=True) if for_update else query).one()
    return FeedState(row.feed_made_from, row.feed_body, row.feed_changed_at)


def save_feed(session: Session, subscription_id: int, state: FeedState) -> None:
    row = session.get_one(SubscriptionRow, subscription_id)
    row.feed_made_from, row.feed_body, row.feed_changed_at = state.made_from, state.body, state.changed_at


def published(session: Session, subscription_id: int) -> list[Published]:
    return [
        Published(r.on, ItemKind(r.kind), r.ordinal, r.uid, r.content_hash, r.sequence, r.last_modified, r.withdrawn, r.start_at)
        for r in session.exec(select(PublishedItemRow).where(PublishedItemRow.subscription_id == subscription_id)).all()
    ]


def save_published(session: Session, subscription: Subscription, promises: Sequence[Published]) -> None:
    rows = session.exec(select(PublishedItemRow).where(PublishedItemRow.subscription_id == subscription.id)).all()
    by_uid = {row.uid: row for row in rows}
    for p in promises:
        row = by_uid.get(p.uid) or PublishedItemRow(
            clinic_id=subscription.clinic_id,
            subscription_id=subscription.id,
            on=p.on,
            kind=p.kind,
            ordinal=p.ordinal,
            uid=p.uid,
            content_hash="",
            sequence=0,
            last_modified=p.last_modified,
        )
        row.content_hash, row.sequence, row.last_modified, row.withdrawn, row.start_at = p.content_hash, p.sequence, p.last_modified, p.withdrawn, p.start_at
        session.add(row)
    session.flush()


def _written(style: FeedStyle) -> dict[str, Any]:
    return vars(style) | {"shown": style.shown.value, "care": sorted(style.care), "colour": style.colour.value, "language": style.language.value}


def _wishes_written(wishes: Wishes) -> dict[str, Any]:
    return vars(wishes) | {"kinds": sorted(wishes.kinds)}


def _wishes(written: dict[str, Any]) -> Wishes:
    return Wishes(**written | {"kinds": frozenset(map(ReminderKind, written["kinds"]))})


def _subscription(row: SubscriptionRow) -> Subscription:
    assert row.id is not None
    return Subscription(
        id=row.id,
        public_id=row.public_id,
        clinic_id=row.clinic_id,
        child_id=row.child_id,
        caregiver=row.caregiver,
        style=FeedStyle(
            label=row.label,
            word=row.word,
            shown=Shown(row.shown),
            alarm_minutes=row.alarm_minutes,
            session_alarm_minutes=row.session_alarm_minutes,
            care=frozenset(map(CareGroup, row.care)),
            done_shown=row.done_shown,
            colour=Colour(row.colour),
            language=Language(row.language),
        ),
        created_at=row.created_at,
        revoked_at=row.revoked_at,
        fetched_at=row.fetched_at,
        fetched_by=row.fetched_by,
        sees_others=row.sees_others,
        wishes=_wishes(row.wishes),
    )
