"""Links for caregivers: given once, revoked at once."""

from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session

from schedules.feed_style import FeedStyle
from service.facts import Child, Staff, Subscription
from service.store import children, links, trail
from service.tokens import new_token
from shared.errors import ClinicalInputError
from shared.findings import msg


@dataclass(frozen=True)
class NewLink:
    """The only moment at which the secrets exist in clear text."""

    subscription: Subscription
    feed_token: str
    page_token: str


@dataclass(frozen=True)
class NewAddress:
    """The same for a calendar's address alone."""

    subscription: Subscription
    feed_token: str


def issue(
    session: Session,
    staff: Staff,
    child: Child,
    *,
    caregiver: str,
    style: FeedStyle,
    now: datetime,
    tokens: tuple[str, str] | None = None,
) -> NewLink:
    """`tokens` are handed in by the demo, which prints the same addresses at each start, and by the API, which makes them from the key of the deed.

    Raises `ClinicalInputError` for a `label` or `word` that names the child.
    """
    refuse_name(child, label=style.label, word=style.word)
    feed_token, page_token = tokens or (new_token("f"), new_token("p"))
    subscription = links.add_subscription(session, child, caregiver=caregiver, style=style, feed_token=feed_token, page_token=page_token, now=now)
    trail.audit(session, staff.clinic_id, at=now, who=staff.public_id, action="issue-link", subject=subscription.public_id)
    return NewLink(subscription, feed_token, page_token)


def set_style(session: Session, by: Staff | Subscription, child: Child, public_id: str, style: FeedStyle, now: datetime) -> Subscription:
    """How one calendar is wanted, said by staff or through the link itself. Raises `ClinicalInputError` naming the field, `NotFoundError` for a closed link."""
    refuse_name(child, label=style.label, word=style.word)
    subscription = links.save_style(session, child, public_id, style)
    trail.audit(session, child.clinic_id, at=now, who=_who(by), action="set-calendar", subject=public_id)
    return subscription


def set_sees_others(session: Session, staff: Staff, child: Child, public_id: str, sees: bool, now: datetime) -> Subscription:
    """Whether this adult sees what the others noted, as between homes apart. Raises `NotFoundError` for a closed link."""
    subscription = links.set_sees_others(session, child, public_id, sees)
    trail.audit(session, staff.clinic_id, at=now, who=staff.public_id, action="set-sees-others", subject=public_id, detail={"sees": sees})
    return subscription


def rotate(session: Session, by: Staff | Subscription, child: Child, public_id: str, now: datetime, feed_token: str | None = None) -> NewAddress:
    """The calendar under an address of its own anew; the one before says so and shows nothing else. Raises `NotFoundError` for a closed link."""
    feed_token = feed_token or new_token("f")
    subscription = links.rotate(session, child, public_id, feed_token, now)
    trail.audit(session, child.clinic_id, at=now, who=_who(by), action="rotate-calendar", subject=public_id)
    return NewAddress(subscription, feed_token)


def _who(by: Staff | Subscription) -> str:
    return by.public_id if isinstance(by, Staff) else f"link:{by.public_id}"


def refuse_name(child: Child, **said: str) -> None:
    """Raises `ClinicalInputError` naming the field whose text names the child."""
    for field, text in said.items():
        if child.short_name.casefold() in text.casefold():
            raise ClinicalInputError(field, msg("A calendar is seen by others: please leave the child's name out of its title."))


def revoke(session: Session, staff: Staff, child: Child, public_id: str, now: datetime) -> None:
    links.revoke(session, child, public_id, now)
    children.facts_changed(session, child.id)
    trail.audit(session, staff.clinic_id, at=now, who=staff.public_id, action="revoke-link", subject=public_id)
