"""A clinic's care sets. Only ever added to: a change is a version that holds from a date on."""

from dataclasses import replace
from datetime import date, datetime

from pydantic import TypeAdapter
from sqlmodel import Session

from schedules.care_sets import CareSet
from service.facts import Staff
from service.facts_of_home_care import EnteredCareSet
from service.store import versions as rows
from service.store.records import CareSetRow
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
    return rows.add(session, row)


def versions(session: Session, clinic_id: int) -> list[EnteredCareSet]:
    """Every version, the oldest first."""
    return [_entered(*found) for found in rows.of_clinic(session, CareSetRow, clinic_id, "number")]


def versions_behind(session: Session, clinic_id: int, after: str | None, limit: int) -> list[EnteredCareSet]:
    """One page of versions in the order they were entered; `after` is a public id."""
    return [_entered(*found) for found in rows.behind(session, CareSetRow, clinic_id, after, limit)]


def one(session: Session, clinic_id: int, public_id: str) -> EnteredCareSet:
    """Raises `NotFoundError` for a version that is not this clinic's."""
    return _entered(*rows.one(session, CareSetRow, clinic_id, public_id))


def _entered(r: CareSetRow, who: str) -> EnteredCareSet:
    return EnteredCareSet(r.public_id, r.number, _CONTENT.validate_python(r.content), r.from_on, who, r.entered_at)


def in_turn(session: Session, clinic_id: int) -> tuple[CareSet, ...]:
    """The sets by the date each begins to hold; of two that begin on one day the newer."""
    by_date = {e.from_on: replace(e.care_set, from_on=e.from_on) for e in versions(session, clinic_id)}
    return tuple(by_date[on] for on in sorted(by_date))
