"""Sending what is due: claimed, looked at once more, sent outside any transaction, and marked. When a sender dies, the lease ends and another takes over.

Between handing over and marking a kill makes a second hand-over possible, and nothing else does; both carry the same key, so that a device shows one.
"""

import asyncio
import logging
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from random import random
from secrets import token_urlsafe
from zoneinfo import ZoneInfo

from sqlalchemy import Engine
from sqlmodel import Session

from service.actions import reminders
from service.clock import Clock, local_today
from service.db import writing
from service.facts_of_messages import Contact, Delivery, DeliveryState
from service.messages.channel import ChannelError, GoneError, Outgoing, PermanentFailureError, TemporaryFailureError
from service.messages.compose import compose
from service.messages.configured import Channels
from service.rendering import Renderer
from service.settings import Settings
from service.store import children, contacts, links, outbox
from service.views.languages import words_of

log = logging.getLogger("occlusion_dose.messages")
MOST_ATTEMPTS = 8  # a first one and seven more, the last some two hours after it
FIRST_WAIT = timedelta(minutes=1)
LEASE = timedelta(minutes=3)  # longer than a batch can take: every send ends after SEND_WITHIN_SECONDS
BATCH = 25
BATCHES_A_TICK = 40


@dataclass(frozen=True)
class Post:
    """What sending takes. `chance` gives numbers from 0 to 1: two who failed together do not try again together."""

    engine: Engine
    settings: Settings
    clock: Clock
    renderer: Renderer
    channels: Channels
    chance: Callable[[], float] = random
    lease: timedelta = LEASE


Ready = tuple[Delivery, Outgoing]


def deliver_due(post: Post) -> int:
    """Plans for what has moved, then sends what is due; gives how many messages were handed over."""
    reminders.plan_stale(post.engine, post.clock.now())
    handed = 0
    for _ in range(BATCHES_A_TICK):
        claimed_by = token_urlsafe(12)
        with writing(post.engine) as session:
            now = post.clock.now()
            claimed = outbox.claim(session, claimed_by, now, now + post.lease, BATCH)
        if not claimed:
            break
        handed += sum(asyncio.run(_send_all(post, claimed, claimed_by)))
    return handed


def _look_again(post: Post, claimed: Delivery, claimed_by: str) -> Ready | None:
    """None where it is not to be sent now; a message that cannot even be looked at waits and holds up no other."""
    try:
        with writing(post.engine) as session:
            return _still_wanted(post, session, claimed, claimed_by)
    except Exception:
        log.exception("message %s cannot be prepared", claimed.id)
        _mark(post, replace(claimed, attempts=claimed.attempts + 1), claimed_by, TemporaryFailureError("cannot-be-prepared"))
        return None


def _still_wanted(post: Post, session: Session, claimed: Delivery, claimed_by: str) -> Ready | None:
    now = post.clock.now()
    subscription = links.subscription_by_id(session, claimed.subscription_id)
    child = children.child_by_id(session, claimed.child_id)
    if not claimed.kind.of_plan:
        reminders.plan(session, subscription, child, now)
    delivery = outbox.renewed(session, claimed.id, claimed_by)
    if delivery is None or delivery.contact_id is None:
        return None
    if delivery.attempts >= MOST_ATTEMPTS:  # whoever tried it died each time
        outbox.settle(session, delivery.id, claimed_by, DeliveryState.DEAD, error="given-up")
        return None
    contact = contacts.by_id(session, delivery.contact_id)
    unwanted = subscription.revoked_at is not None or not contact.takes(delivery.kind) or not subscription.wishes.wants(delivery.kind)
    quiet_until = subscription.wishes.after_quiet(now, ZoneInfo(child.time_zone))
    if unwanted or (delivery.kind.of_plan and not reminders.still_stands(session, child, delivery, now)):
        outbox.settle(session, delivery.id, claimed_by, DeliveryState.CANCELLED)
    elif max(now, quiet_until) >= delivery.expires_at:
        outbox.settle(session, delivery.id, claimed_by, DeliveryState.EXPIRED)
    elif (later := max(delivery.due_at, quiet_until)) > now:
        outbox.put_off(session, delivery.id, claimed_by, later, attempts=delivery.attempts)
    else:
        delivery = replace(delivery, attempts=delivery.attempts + 1)
        outbox.note_attempt(session, delivery.id, claimed_by)
        return delivery, compose(
            post.settings, post.renderer, delivery, subscription, contact, words_of(session, subscription), local_today(now, child.time_zone), now
        )
    return None


async def _send_all(post: Post, claimed: Sequence[Delivery], claimed_by: str) -> list[bool]:
    return list(await asyncio.gather(*(_send(post, delivery, claimed_by) for delivery in claimed)))


async def _send(post: Post, claimed: Delivery, claimed_by: str) -> bool:
    """Whether it was handed over; looked at just before, and marked before anything else is waited for."""
    ready = _look_again(post, claimed, claimed_by)
    if ready is None:
        return False
    delivery, message = ready
    failure = await _failure(post, delivery, message)
    _mark(post, delivery, claimed_by, failure, message.to)
    return failure is None


async def _failure(post: Post, delivery: Delivery, message: Outgoing) -> ChannelError | None:
    channel = post.channels.get(message.to.channel)
    if channel is None:
        return PermanentFailureError("channel-not-set-up")
    try:
        await channel.send(message)
    except ChannelError as failure:
        return failure
    except Exception:
        log.exception("message %s: the channel broke", delivery.id)
        return TemporaryFailureError("channel-broke")
    return None


def _mark(post: Post, delivery: Delivery, claimed_by: str, failure: ChannelError | None, to: Contact | None = None) -> None:
    with writing(post.engine) as session:
        now = post.clock.now()
        if failure is None:
            outbox.settle(session, delivery.id, claimed_by, DeliveryState.SENT, sent_at=now)
        elif isinstance(failure, TemporaryFailureError) and delivery.attempts < MOST_ATTEMPTS:
            later = now + wait(delivery.attempts, post.chance())
            outbox.put_off(session, delivery.id, claimed_by, later, attempts=delivery.attempts, error=failure.kind)
        else:
            outbox.settle(session, delivery.id, claimed_by, DeliveryState.DEAD, error=failure.kind)
        if to is not None:
            _learn(session, to, failure, now)


def _learn(session: Session, contact: Contact, failure: ChannelError | None, now: datetime) -> None:
    """What a hand-over tells of the address itself."""
    if failure is None and contact.bounced_at is not None:
        contacts.note_bounced(session, contact.id, None)
    elif isinstance(failure, GoneError):
        contacts.note_gone(session, contact.id, now)
    elif isinstance(failure, PermanentFailureError) and failure.of_address:
        contacts.note_bounced(session, contact.id, now)


def wait(attempts: int, chance: float) -> timedelta:
    """After so many attempts: twice as long each time, give or take a half."""
    return FIRST_WAIT * (2.0 ** (attempts - 1) * (0.5 + chance))
