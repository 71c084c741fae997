"""A child's household. Only ever added to: a change is a new version, by a member of staff or through a caregiver's link."""

from datetime import datetime
from typing import Any

from sqlmodel import Session, col, select

from schedules.household import Household
from service.errors import NotFoundError
from service.facts import Child, Staff, Subscription
from service.facts_of_routines import EnteredHousehold
from service.household_json import HouseholdTold, from_json, to_json
from service.store import versions
from service.store.keyset import page_ids
from service.store.records import HouseholdRow, StaffRow, SubscriptionRow
from service.tokens import new_public_id


def add(session: Session, child: Child, household: Household, number: int, by: Staff | Subscription, now: datetime) -> str:
    """Version `number`. Raises `ChangedMeanwhileError` where somebody else has entered it."""
    row = HouseholdRow(
        clinic_id=child.clinic_id,
        public_id=new_public_id(),
        child_id=child.id,
        number=number,
        content=to_json(household),
        entered_by=by.id if isinstance(by, Staff) else None,
        subscription_id=by.id if isinstance(by, Subscription) else None,
        entered_at=now,
    )
    return versions.add(session, row)


def newest(session: Session, child: Child) -> EnteredHousehold | None:
    """None where nobody has told anything yet."""
    row = session.exec(select(HouseholdRow).where(HouseholdRow.child_id == child.id).order_by(col(HouseholdRow.number).desc()).limit(1)).first()
    return _entered(session, child, row) if row else None


def one(session: Session, child: Child, public_id: str) -> EnteredHousehold:
    """Raises `NotFoundError` for a version that is not this child's."""
    row = session.exec(select(HouseholdRow).where(HouseholdRow.child_id == child.id, HouseholdRow.public_id == public_id)).first()
    if row is None:
        raise NotFoundError
    return _entered(session, child, row)


def behind(session: Session, child: Child, after: str | None, limit: int) -> list[EnteredHousehold]:
    """One page of versions in the order they were entered; `after` is a public id."""
    ids = page_ids(session, HouseholdRow, HouseholdRow.child_id == child.id, after, limit)
    rows = session.exec(select(HouseholdRow).where(col(HouseholdRow.id).in_(ids)).order_by(col(HouseholdRow.id))).all()
    return [_entered(session, child, row) for row in rows]


def untold(child: Child) -> Household:
    """The household of a child of whose days nothing is known."""
    return HouseholdTold().of(child)


def _entered(session: Session, child: Child, row: HouseholdRow) -> EnteredHousehold:
    by_family = row.subscription_id is not None
    who: Any = session.get_one(SubscriptionRow, row.subscription_id).caregiver if by_family else session.get_one(StaffRow, row.entered_by).name
    return EnteredHousehold(row.public_id, row.number, from_json(row.content, child), who, by_family, row.entered_at)
