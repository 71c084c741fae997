"""What was told of a child's household. Only ever added to; the newest version holds, and its own dates say from when."""

from datetime import datetime
from typing import Any

from pydantic import TypeAdapter
from sqlalchemy import func
from sqlmodel import Session, col, select

from schedules.household import Household, Move
from schedules.routine import Routine
from service.errors import NotFoundError
from service.facts import Child, Staff, Subscription
from service.facts_of_households import EnteredHousehold
from service.store.keyset import page_ids
from service.store.records import HouseholdRow, StaffRow, SubscriptionRow
from service.tokens import new_public_id

_CONTENT = TypeAdapter(Household)
_OF_THE_CHILD = {"born_on", "time_zone", "moves"}


def untold(child: Child) -> Household:
    """Of a family that has told nothing yet: a birthday and the zones it lived in."""
    (_, first), *later = child.zones
    return Household(child.born_on, first, Routine(()), moves=tuple(Move(on, zone) for on, zone in later))


def add(session: Session, child: Child, by: Staff | Subscription, number: int, household: Household, now: datetime) -> str:
    """Version `number`. Whoever writes holds the child's row."""
    row = HouseholdRow(
        clinic_id=child.clinic_id,
        public_id=new_public_id(),
        child_id=child.id,
        number=number,
        content=to_json(household),
        entered_by=by.id if isinstance(by, Staff) else None,
        entered_through=by.id if isinstance(by, Subscription) else None,
        entered_at=now,
    )
    session.add(row)
    session.flush()
    return row.public_id


def newest(session: Session, child: Child) -> EnteredHousehold | None:
    last = select(func.max(HouseholdRow.number)).where(HouseholdRow.child_id == child.id).scalar_subquery()
    found = _read(session, child, (HouseholdRow.child_id == child.id) & (HouseholdRow.number == last))
    return found[0] if found else None


def versions_behind(session: Session, child: Child, after: str | None, limit: int) -> list[EnteredHousehold]:
    """One page in the order they were entered; `after` is a public id."""
    return _read(session, child, col(HouseholdRow.id).in_(page_ids(session, HouseholdRow, HouseholdRow.child_id == child.id, after, limit)))


def last_before(session: Session, child: Child, before: int | None, limit: int) -> list[EnteredHousehold]:
    """The `limit` newest versions below number `before`, or of all; the oldest first."""
    newest_number = select(func.max(HouseholdRow.number)).where(HouseholdRow.child_id == child.id)
    end = before if before is not None else (session.exec(newest_number).one() or 0) + 1
    return _read(session, child, (HouseholdRow.child_id == child.id) & (HouseholdRow.number < end) & (HouseholdRow.number >= end - limit))


def one(session: Session, child: Child, public_id: str) -> EnteredHousehold:
    """Raises `NotFoundError` for an unknown version and for one of another child alike."""
    found = _read(session, child, (HouseholdRow.child_id == child.id) & (HouseholdRow.public_id == public_id))
    if not found:
        raise NotFoundError
    return found[0]


def to_json(household: Household) -> dict[str, Any]:
    """What the family told; birthday and zones are the child's own facts."""
    content: dict[str, Any] = _CONTENT.dump_python(household, mode="json", exclude=_OF_THE_CHILD)
    return content


def from_json(content: dict[str, Any], child: Child) -> Household:
    own = _CONTENT.dump_python(untold(child), mode="json", include=_OF_THE_CHILD)
    return _CONTENT.validate_python(content | own)


def _read(session: Session, child: Child, which: Any) -> list[EnteredHousehold]:
    rows = session.exec(
        select(HouseholdRow, StaffRow.name, SubscriptionRow.caregiver)
        .join(StaffRow, col(StaffRow.id) == col(HouseholdRow.entered_by), isouter=True)
        .join(SubscriptionRow, col(SubscriptionRow.id) == col(HouseholdRow.entered_through), isouter=True)
        .where(which)
        .order_by(col(HouseholdRow.number))
    ).all()
    return [
        EnteredHousehold(r.public_id, r.number, from_json(r.content, child), staff or caregiver, staff is None, r.entered_at) for r, staff, caregiver in rows
    ]
