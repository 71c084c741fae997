"""A caregiver's reminders: where they go, of what, and what was sent lately. Addresses are shown to whoever gave them, and to the clinic."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from urllib.parse import urlsplit

from sqlmodel import Session

from schedules.reminders import CHOSEN
from service.facts import Child, Subscription
from service.facts_of_messages import ChannelName, Contact, Delivery, DeliveryState
from service.i18n import Words
from service.messages.configured import channels
from service.messages.web_push import public_key
from service.settings import Settings
from service.store import contacts, links, outbox
from service.views.case import Case
from shared.findings import Message, msg

LINES = 30
LATE = timedelta(minutes=5)
HEARD_OF = timedelta(days=7)  # common practice: a calendar that has not asked for a week stands still

_TROUBLES: dict[str, Message] = {
    "address-refused": msg("the address was refused"),
    "device-gone": msg("the device has forgotten this page"),
    "not-public": msg("the device's address is not a public one"),
    "refused": msg("refused for good"),
    "sign-in-refused": msg("the mail server refused the clinic's sign-in"),
    "gateway-set-up": msg("the gateway for text messages refused the clinic"),
    "channel-not-set-up": msg("this way is not set up any more"),
}


@dataclass(frozen=True)
class AddressLine:
    contact: Contact
    address: str
    trouble: str  # "" where there is none


@dataclass(frozen=True)
class RemindersPage:
    caregiver: str
    addresses: tuple[AddressLine, ...]
    kinds: tuple[tuple[str, str], ...]
    takes_email: bool
    takes_number: bool
    push_key: str  # what a browser needs to subscribe; "" where pushes are not set up
    any_channel: bool


@dataclass(frozen=True)
class DeliveryLine:
    delivery: Delivery
    caregiver: str
    channel: str
    what: str
    state: str
    at: datetime
    weighty: bool  # somebody was not told


def view(session: Session, settings: Settings, subscription: Subscription, words: Words) -> RemindersPage:
    ways = channels(settings)
    key = settings.vapid_private_key
    return RemindersPage(
        caregiver=subscription.caregiver,
        addresses=tuple(AddressLine(c, shown_address(c), _trouble_of(c, words)) for c in contacts.of(session, subscription.id)),
        kinds=tuple((f"kind_{kind}", words.label(kind)) for kind in CHOSEN),
        takes_email=ChannelName.EMAIL in ways,
        takes_number=ChannelName.TEXT_MESSAGE in ways,
        push_key=public_key(key) if key and ChannelName.WEB_PUSH in ways else "",
        any_channel=bool(ways),
    )


def shown_address(contact: Contact) -> str:
    """Of a device no more than whose browser it is: the rest is a secret."""
    return urlsplit(contact.address).hostname or "" if contact.channel is ChannelName.WEB_PUSH else contact.address


def _trouble_of(contact: Contact, words: Words) -> str:
    if contact.bounced_at is not None:
        return words.gettext("refused when last tried; please check it")
    return words.gettext("reminders are off here") if contact.off_at is not None else ""


def lines(session: Session, child: Child, words: Words, now: datetime) -> tuple[DeliveryLine, ...]:
    """What became of a child's messages, those still to come left out; a line for each message, never its address."""
    names = {s.id: s.caregiver for s in links.subscriptions(session, child.id)}
    return tuple(_line(d, names[d.subscription_id], words) for d in outbox.of_child(session, child, now, LINES))


def _line(d: Delivery, caregiver: str, words: Words) -> DeliveryLine:
    state = words.label(d.state)
    if d.state is DeliveryState.PENDING and d.error:
        state = words.gettext("not taken yet, will be tried again")
    elif d.error in _TROUBLES:
        state = f"{state}: {words.text(_TROUBLES[d.error])}"
    return DeliveryLine(
        delivery=d,
        caregiver=caregiver,
        channel=words.label(d.channel) if d.channel else "–",
        what=words.label(d.kind),
        state=state,
        at=d.sent_at or d.due_at,
        weighty=d.state in (DeliveryState.DEAD, DeliveryState.UNREACHED),
    )


def late_since(session: Session, clinic_id: int, now: datetime) -> datetime | None:
    """Since when messages of this clinic have waited that should have gone; None while all goes as it should."""
    return outbox.late_since(session, clinic_id, now - LATE)


def unreached(session: Session, c: Case, now: datetime) -> bool:
    """Whether a plan runs and no open link of the family is heard of: no address that takes messages, no calendar that asked, nothing noted for a week.

    A family without any link is not looked for here: it may go by paper.
    """
    open_links = [s for s in c.subscriptions if s.revoked_at is None]
    if c.current is None or not open_links or any(now - s.created_at < HEARD_OF for s in open_links):
        return False
    fetched = any(s.fetched_at is not None and now - s.fetched_at < HEARD_OF for s in open_links)
    noted = any(now - e.recorded_at < HEARD_OF and e.recorded_by.startswith("link:") for e in c.entries)
    return not fetched and not noted and not any(contact.reaches for s in open_links for contact in contacts.of(session, s.id))
