"""What a person wants of their calendar. The dose, its dates and its end are the signer's; only their dress is the family's."""

from datetime import datetime

from sqlmodel import Session

from schedules.feed import Wish
from service.facts import Child, Subscription
from service.store import links, trail
from shared.errors import ClinicalInputError
from shared.findings import msg

MOST_MINUTES_BEFORE = 180


def check_label(label: str, child: Child) -> None:
    """Raises `ClinicalInputError` naming `label` for one that names the child."""
    if child.short_name.casefold() in label.casefold():
        raise ClinicalInputError("label", msg("A calendar is seen by others: please leave the child's name out of its title."))


def wish(session: Session, subscription: Subscription, child: Child, wanted: Wish, now: datetime, *, care: bool, visits: bool, done: bool) -> None:
    """Raises `ClinicalInputError` naming `label`."""
    check_label(wanted.label, child)
    links.set_wish(session, subscription.id, wanted, shows_care=care, shows_visits=visits, shows_done=done)
    trail.audit(session, subscription.clinic_id, at=now, who=subscription.public_id, action="wish-calendar", subject=subscription.public_id)
