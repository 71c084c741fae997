"""Messages that will be due: those a signature causes, in its own transaction, and those that dates cause, planned ahead and again whenever the facts move."""

import logging
from collections.abc import Iterable, Mapping
from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from sqlalchemy import Engine
from sqlmodel import Session

from schedules.local_time import instant
from schedules.regimen import in_force
from schedules.reminders import Reminder, ReminderKind, reminders
from service.clock import local_today
from service.db import reading, writing
from service.facts import Child, Subscription
from service.facts_of_messages import Contact, Delivery, DeliveryState
from service.store import children, contacts, links, outbox, signed
from service.views import case
from service.views.to_remind import day_to_remind

log = logging.getLogger("occlusion_dose.messages")
NOTICE_LASTS = timedelta(days=7)
DAYS_AHEAD = 2  # today and tomorrow: a sender that is late shows long before nothing is left to send
AT_ONCE = 200  # links planned in one go


def announce(session: Session, child: Child, kind: ReminderKind, about: str, detail: Mapping[str, Any], now: datetime) -> None:
    """To every address of every open link that takes such a message; where none does, a line that tells the clinic so."""
    on = local_today(now, child.time_zone)
    for recipient in links.subscriptions(session, child.id):
        if recipient.revoked_at is not None or not recipient.wishes.wants(kind):
            continue
        addresses: Iterable[Contact | None] = [c for c in contacts.of(session, recipient.id) if c.takes(kind)] or [None]
        for contact in addresses:
            outbox.add(session, child, recipient, contact, kind, about, on, detail, due_at=now, expires_at=now + NOTICE_LASTS)


def plan_stale(engine: Engine, now: datetime) -> int:
    """Plans for every link whose facts, wishes or day have moved since; gives the count."""
    with reading(engine) as session:
        ids = links.stale_reminders(session, now, AT_ONCE)
    for subscription_id in ids:
        try:
            with writing(engine) as session:
                subscription = links.subscription_by_id(session, subscription_id)
                plan(session, subscription, children.child_by_id(session, subscription.child_id), now)
        except Exception:
            log.exception("link %s: its messages cannot be planned", subscription_id)
    return len(ids)


def plan(session: Session, subscription: Subscription, child: Child, now: datetime) -> None:
    """Makes one link's coming messages what its facts ask for. Done twice, or by two at once, it does no more than done once."""
    if not links.reminders_are_stale(session, subscription.id, child.facts_version, now):
        return
    subscription = links.subscription_by_id(session, subscription.id)  # as it stands now that it is held
    today = local_today(now, child.time_zone)
    wanted = _wanted(session, child, subscription, now)
    standing = outbox.planned(session, subscription.id, today)
    for key, (contact, reminder) in wanted.items():
        _keep(session, child, subscription, contact, reminder, standing.get(key), now)
    for key, delivery in standing.items():
        if key not in wanted and delivery.state is DeliveryState.PENDING:
            outbox.withdraw(session, delivery.id)
    until = instant(today + timedelta(days=1), 0, ZoneInfo(child.time_zone))
    links.note_reminders_planned(session, subscription.id, child.facts_version, until)


def _wanted(session: Session, child: Child, subscription: Subscription, now: datetime) -> dict[str, tuple[Contact, Reminder]]:
    c = case.load(session, child, now)
    addresses = contacts.of(session, subscription.id)
    days = [c.today + timedelta(days=n) for n in range(DAYS_AHEAD)]
    found = [r for on in days for r in reminders(day_to_remind(c, subscription.style, on), subscription.wishes) if r.expires_at > now]
    return {
        outbox.key_of(r.kind, _about(r), subscription, contact): (contact, r)
        for r in found
        for contact in addresses
        if contact.takes(r.kind) and subscription.revoked_at is None
    }


def _about(reminder: Reminder) -> str:
    return f"{reminder.on}.{reminder.ordinal}"


def _keep(session: Session, child: Child, subscription: Subscription, contact: Contact, r: Reminder, standing: Delivery | None, now: datetime) -> None:
    detail = {
        "minutes": r.minutes,
        "start": f"{r.start_at:%H:%M}" if r.start_at else None,
        "about_on": r.about_on.isoformat() if r.about_on else None,
    }
    if standing is None:
        outbox.add(session, child, subscription, contact, r.kind, _about(r), r.on, detail, due_at=r.due_at, expires_at=r.expires_at)
    elif standing.state is DeliveryState.CANCELLED or (standing.state is DeliveryState.PENDING and (standing.due_at, standing.detail) != (r.due_at, detail)):
        outbox.move(session, standing.id, detail, due_at=max(r.due_at, now), expires_at=r.expires_at)


def still_stands(session: Session, child: Child, delivery: Delivery, now: datetime) -> bool:
    """Whether a notice of the plan is still true: its revision is in force, or still to come."""
    documents = signed.regimens(session, child)
    revisions = signed.revisions(documents)
    regimen = next((d.regimen for d in documents if d.public_id == delivery.about), None)
    return regimen is not None and in_force(revisions, max(regimen.start_on, local_today(now, child.time_zone))) is regimen
