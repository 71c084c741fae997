"""Links for caregivers: given once, revoked at once."""

from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session

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


def issue(
    session: Session,
    staff: Staff,
    child: Child,
    *,
    caregiver: str,
    label: str,
    alarm_minutes: int | None,
    now: datetime,
    tokens: tuple[str, str] | None = None,
) -> NewLink:
    """`tokens` are handed in by the demo, which prints the same addresses at each start, and by the API, which makes them from the key of the deed.

    Raises `ClinicalInputError` for a `label` that names the child.
    """
    if child.short_name.casefold() in label.casefold():
        raise ClinicalInputError("label", msg("A calendar is seen by others: please leave the child's name out of its title."))
    feed_token, page_token = tokens or (new_token("f"), new_token("p"))
    subscription = links.add_subscription(
        session, child, caregiver=caregiver, label=label, alarm_minutes=alarm_minutes, feed_token=feed_token, page_token=page_token, now=now
    )
    trail.audit(session, staff.clinic_id, at=now, who=staff.public_id, action="issue-link", subject=subscription.public_id)
    return NewLink(subscription, feed_token, page_token)


def revoke(session: Session, staff: Staff, child: Child, public_id: str, now: datetime) -> None:
    links.revoke(session, child, public_id, now)
    children.facts_changed(session, child.id)
    trail.audit(session, staff.clinic_id, at=now, who=staff.public_id, action="revoke-link", subject=public_id)
