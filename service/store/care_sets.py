"""A clinic's care sets. Only ever added to: a change is a version that holds from a date on."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, datetime
from typing import Any

from pydantic import TypeAdapter
from sqlalchemy.exc import IntegrityError
from sqlmodel import Session, col, select

from schedules.care_sets import CareSet
from service.errors import ChangedMeanwhileError, NotFoundError
from service.facts import Staff
from service.facts_of_home_care import EnteredCareSet
from service.store.keyset import page_ids
from service.store.records import CareSetRow, StaffRow
from service.tokens import new_public_id

_CONTENT = TypeAdapter(CareSet)


def add(session: Session, staff: Staff, care_set: CareSet, number: int, from_on: date, now: datetime) -> str:
    """Version `number`. Raises `ChangedMeanwhileError` where somebody else has entered it."""
    row = CareSetRow(
        clinic_id=staff.clinic_id,
        public_id=new_public_id(),
        number=number,
        from_on=from_on,
        content=_CONTENT.dump_python(care_set, mode="json", exclude={"from_on"}),
        entered_by=staff.id,
        entered_at=now,
    )
    public_id = row.public_id
    try:
        with session.begin_nested():
            session.add(row)
    except IntegrityError:
        raise ChangedMeanwhileError from None
    return public_id


def versions(session: Session, clinic_id: int) -> list[EnteredCareSet]:
    """Every version, the oldest first."""
    return _read(session, CareSetRow.clinic_id == clinic_id, col(CareSetRow.number))


def versions_behind(session: Session, clinic_id: int, after: str | None, limit: int) -> list[EnteredCareSet]:
    """One page of versions in the order they were entered; `after` is a public id."""
    ids = page_ids(session, CareSetRow, CareSetRow.clinic_id == clinic_id, after, limit)
    return _read(session, col(CareSetRow.id).in_(ids), col(CareSetRow.id))


def one(session: Session, clinic_id: int, public_id: str) -> EnteredCareSet:
    """Raises `NotFoundError` for a version that is not this clinic's."""
    found = _read(session, (CareSetRow.clinic_id == clinic_id) & (CareSetRow.public_id == public_id), col(CareSetRow.id))
    if not found:
        raise NotFoundError
    return found[0]


def in_turn(session: Session, clinic_id: int) -> tuple[CareSet, ...]:
    """The sets by the date each begins to hold; of two that begin on one day the newer."""
    return begun(versions(session, clinic_id))


def begun(entered: Sequence[EnteredCareSet]) -> tuple[CareSet, ...]:
    by_date = {e.from_on: replace(e.care_set, from_on=e.from_on) for e in entered}
    return tuple(by_date[on] for on in sorted(by_date))


def _read(session: Session, which: Any, order: Any) -> list[EnteredCareSet]:
    rows = session.exec(select(CareSetRow, StaffRow).join(StaffRow, col(StaffRow.id) == col(CareSetRow.entered_by)).where(which).order_by(order)).all()
    return [EnteredCareSet(r.public_id, r.number, _CONTENT.validate_python(r.content), r.from_on, who.name, r.entered_at) for r, who in rows]
