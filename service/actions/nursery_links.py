"""A nursery's or school's link to one child's day: given until a date, shown once, revoked at once."""

from datetime import date, datetime, timedelta

from sqlmodel import Session

from schedules.regimen import LONGEST_WEEKS
from service.actions.links import refuse_name
from service.clock import local_today
from service.errors import NotFoundError
from service.facts import Child, NurseryLink, Staff
from service.store import children, nursery_links, trail
from service.tokens import new_token
from shared.errors import ClinicalInputError
from shared.findings import msg

LONGEST = timedelta(weeks=LONGEST_WEEKS)  # no longer than a plan can run unseen


def give(
    session: Session, staff: Staff, child: Child, *, place: str, label: str, until_on: date, now: datetime, token: str | None = None
) -> tuple[NurseryLink, str]:
    """The link and, for the only time, its secret; the API hands in one made from the key of the deed.

    Raises `ClinicalInputError` for a `label` that names the child, and for an `until_on` before today or further off than a plan can run.
    """
    refuse_name(child, label=label)
    today = local_today(now, child.time_zone)
    if not today <= until_on <= today + LONGEST:
        raise ClinicalInputError("until_on", msg("Choose a last day between %(today)s and %(latest)s.", today=today, latest=today + LONGEST))
    token = token or new_token("n")
    link = nursery_links.add(session, child, place=place, label=label, until_on=until_on, token=token, now=now)
    trail.audit(session, staff.clinic_id, at=now, who=staff.public_id, action="give-nursery-link", subject=link.public_id)
    return link, token


def revoke(session: Session, staff: Staff, child: Child, public_id: str, now: datetime) -> None:
    nursery_links.revoke(session, child, public_id, now)
    trail.audit(session, staff.clinic_id, at=now, who=staff.public_id, action="revoke-nursery-link", subject=public_id)


def opened(session: Session, token: str, now: datetime) -> tuple[NurseryLink, Child]:
    """Raises `NotFoundError` alike for a link that is unknown, revoked or past its last day in the child's zone."""
    link = nursery_links.of_token(session, token)
    child = children.child_by_id(session, link.child_id)
    if local_today(now, child.time_zone) > link.until_on:
        raise NotFoundError
    return link, child
