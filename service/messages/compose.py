"""A message's words. They name nobody, no eye and no illness: beside dates and times they hold the family's own words alone."""

import base64
import hashlib
from dataclasses import dataclass
from datetime import date, datetime

from schedules.reminders import ReminderKind
from service.facts import Subscription
from service.facts_of_messages import Contact, Delivery
from service.i18n import Words
from service.messages.channel import Outgoing
from service.rendering import Renderer
from service.settings import Settings
from service.tokens import day_signature, signature
from shared.findings import Message, msg, safety


@dataclass(frozen=True)
class Wording:
    subject: str
    title: str
    text: str


def wording(delivery: Delivery, subscription: Subscription, speak: Words) -> Wording:
    subject = msg("News of the plan") if delivery.kind.of_plan else msg("A reminder")
    return Wording(speak.text(subject), subscription.style.name, speak.text(_text(delivery, subscription, speak)))


def _text(d: Delivery, s: Subscription, speak: Words) -> Message:
    label, on = s.style.name, _about_on(d)
    match d.kind:
        case ReminderKind.SESSION if d.detail.get("start"):
            return msg("%(label)s: %(time)s from %(clock)s.", label=label, time=speak.hours(d.detail["minutes"]), clock=d.detail["start"])
        case ReminderKind.SESSION:
            return msg("%(label)s: %(time)s today.", label=label, time=speak.hours(d.detail["minutes"]))
        case ReminderKind.EVENING:
            return msg("%(label)s: nothing is noted for today yet. Two taps are enough.", label=label)
        case ReminderKind.CARE:
            return msg("%(label)s: there is something else to do today. The page says what.", label=label)
        case ReminderKind.REVIEW if d.about.endswith(".0"):
            return msg("%(label)s: you have a visit on %(on)s.", label=label, on=on)
        case ReminderKind.REVIEW:
            return msg("%(label)s: the plan runs until %(on)s, and no visit is booked. Please ring the clinic.", label=label, on=on)
        case ReminderKind.PLAN_CHANGED:
            return msg("%(label)s: there is a new plan from %(on)s on. A calendar may be a day late; the page is right.", label=label, on=on)
        case ReminderKind.PLAN_PAUSED:
            return safety("%(label)s: pause from %(on)s on. Leave it off until the clinic tells you to begin again.", label=label, on=on)
        case _:
            return safety("%(label)s: the plan ended on %(on)s. Leave it off. The page says more.", label=label, on=on)


def _about_on(delivery: Delivery) -> date | str:
    written = delivery.detail.get("about_on")
    return date.fromisoformat(written) if written else ""


def day_link(settings: Settings, subscription: Subscription, on: date) -> str:
    """Good for one date of one caregiver's child until seven days after it."""
    sign = day_signature(settings.secret_key, subscription.public_id, on)
    return f"{settings.public_url}/day/{subscription.public_id}/{on.isoformat()}/{sign}"


def off_signature(settings: Settings, subscription: Subscription, contact: Contact) -> str:
    """The right to turn reminders off at one address, and nothing else."""
    return signature(settings.secret_key, "reminders-off", subscription.public_id, contact.public_id)


def message_key(delivery: Delivery) -> str:
    """The same for the same message, whoever sends it and however often; as long as a push's topic may be."""
    return base64.urlsafe_b64encode(hashlib.sha256(delivery.dedupe_key.encode()).digest()[:24]).decode()


def compose(
    settings: Settings, renderer: Renderer, delivery: Delivery, subscription: Subscription, contact: Contact, speak: Words, today: date, now: datetime
) -> Outgoing:
    said = wording(delivery, subscription, speak)
    link = day_link(settings, subscription, delivery.on or today)
    off_link = f"{settings.public_url}/reminders-off/{subscription.public_id}/{contact.public_id}/{off_signature(settings, subscription, contact)}"
    return Outgoing(
        key=message_key(delivery),
        to=contact,
        language=speak.language,
        title=said.title,
        subject=said.subject,
        text=said.text,
        html=renderer.text(speak, "messages/email.html", {"text": said.text, "subject": said.subject, "link": link, "off_link": off_link}),
        link=link,
        off_link=off_link,
        sent_at=now,
        lasts_seconds=int((delivery.expires_at - now).total_seconds()),
    )
