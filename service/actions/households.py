"""Telling the service of a family's days: staff on the clinic's page, a caregiver through a link. Sessions move with it, the dose never does."""

from collections.abc import Callable
from datetime import datetime

from sqlmodel import Session

from schedules.household import Household
from schedules.household_changes import check_change
from service.access import require_registrar
from service.clock import local_today
from service.errors import ChangedMeanwhileError
from service.facts import Child, Staff, Subscription
from service.store import children, households, links, trail
from shared.errors import ClinicalInputError
from shared.findings import msg

Change = Callable[[Household], Household]


def enter(session: Session, by: Staff | Subscription, child: Child, seen: int, change: Change, now: datetime) -> str:
    """The public id of the version after the one that was `seen` (0: none).

    Raises `ChangedMeanwhileError` where there is one already, and `ClinicalInputError` naming the field: for a change of a date before today, and for a
    home of somebody who has no link to the child.
    """
    if isinstance(by, Staff):
        require_registrar(by)
    children.facts_changed(session, child.id)  # two writers take turns
    newest = households.newest(session, child)
    if (newest.number if newest else 0) != seen:
        raise ChangedMeanwhileError
    before = newest.household if newest else households.untold(child)
    after = change(before)
    check_change(before, after, local_today(now, child.time_zone))
    if not {home.caregiver for home in after.homes} <= {s.public_id for s in links.subscriptions(session, child.id)}:
        raise ClinicalInputError("homes", msg("A home needs a caregiver who has a link to this child."))
    public_id = households.add(session, child, by, seen + 1, after, now)
    who = by.public_id if isinstance(by, Staff) else f"link:{by.public_id}"
    trail.audit(session, child.clinic_id, at=now, who=who, action="tell-household", subject=public_id, detail={"number": seen + 1})
    return public_id
