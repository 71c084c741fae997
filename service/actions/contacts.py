"""Where and of what a caregiver wants to be reminded, said by the family through its link or by the clinic."""

from datetime import datetime

from sqlmodel import Session

from schedules.reminders import Wishes
from service.facts import Child, Staff, Subscription
from service.facts_of_messages import ChannelName, Contact
from service.messages import addresses
from service.store import contacts, links, trail
from shared.errors import ClinicalInputError
from shared.findings import msg

MOST = 10  # addresses of one caregiver


def set_wishes(session: Session, by: Staff | Subscription, child: Child, public_id: str, wishes: Wishes, now: datetime) -> Subscription:
    """Raises `NotFoundError` for a closed link."""
    subscription = links.save_wishes(session, child, public_id, wishes)
    _audit(session, by, "set-reminders", subscription, now)
    return subscription


def add_email(session: Session, by: Staff | Subscription, subscription: Subscription, typed: str, now: datetime, field: str = "email") -> Contact:
    """Raises `ClinicalInputError` naming `field`."""
    return _add(session, by, subscription, ChannelName.EMAIL, addresses.email(typed, field), field, {}, now)


def add_number(session: Session, by: Staff | Subscription, subscription: Subscription, typed: str, now: datetime, field: str = "number") -> Contact:
    """Raises `ClinicalInputError` naming `field`."""
    return _add(session, by, subscription, ChannelName.TEXT_MESSAGE, addresses.number(typed, field), field, {}, now)


def add_device(session: Session, subscription: Subscription, endpoint: str, p256dh: str, auth: str, now: datetime) -> Contact:
    """As a browser gives it. Raises `ClinicalInputError` naming `endpoint` or `keys`."""
    keys = addresses.push_keys(p256dh, auth)
    return _add(session, subscription, subscription, ChannelName.WEB_PUSH, addresses.push_endpoint(endpoint), "endpoint", keys, now)


def _add(
    session: Session, by: Staff | Subscription, subscription: Subscription, channel: ChannelName, address: str, field: str, keys: dict[str, str], now: datetime
) -> Contact:
    others = [c for c in contacts.of(session, subscription.id) if (c.channel, c.address) != (channel, address)]
    if len(others) >= MOST:
        raise ClinicalInputError(field, msg("There are %(most)s addresses already: take one away first.", most=MOST))
    contact = contacts.save(session, subscription, channel, address, keys, now)
    _changed(session, by, "add-contact", subscription, now)
    return contact


def remove(session: Session, by: Staff | Subscription, subscription: Subscription, public_id: str, now: datetime) -> None:
    """Raises `NotFoundError` for an address that is not this caregiver's."""
    contacts.remove(session, subscription, public_id, now)
    _changed(session, by, "remove-contact", subscription, now)


def turn(session: Session, by: Staff | Subscription, subscription: Subscription, public_id: str, on: bool, now: datetime) -> None:
    """Reminders at one address off or on; what is essential comes all the same. Raises `NotFoundError` as `remove` does."""
    contacts.turn(session, subscription, public_id, None if on else now)
    _changed(session, by, "reminders-on" if on else "reminders-off", subscription, now)


def _changed(session: Session, by: Staff | Subscription, action: str, subscription: Subscription, now: datetime) -> None:
    links.plan_reminders_anew(session, subscription.id)
    _audit(session, by, action, subscription, now)


def _audit(session: Session, by: Staff | Subscription, action: str, subscription: Subscription, now: datetime) -> None:
    who = by.public_id if isinstance(by, Staff) else f"link:{by.public_id}"
    trail.audit(session, subscription.clinic_id, at=now, who=who, action=action, subject=subscription.public_id)
