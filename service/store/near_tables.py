"""A clinic's own tables for near. Only ever added to: a change is a version that holds from a date on."""

from datetime import date, datetime

from sqlmodel import Session

from service.facts import Staff
from service.facts_of_lenses import EnteredNearTable
from service.store import clinic_rules
from service.store import versions as rows
from service.store.records import NearTableRow
from service.tokens import new_public_id
from shared.optics.near import NearTable, built_in_near, read_near_rows
from shared.vocabulary import Status

BY_AGE = "near-overcorrection-by-age"


def add(session: Session, staff: Staff, near_table: NearTable, number: int, from_on: date, now: datetime) -> str:
    """Version `number`. Raises `ChangedMeanwhileError` where somebody else has entered it."""
    row = NearTableRow(
        clinic_id=staff.clinic_id,
        public_id=new_public_id(),
        number=number,
        from_on=from_on,
        near_rows=near_table.typed if near_table.author else "",
        author=near_table.author,
        entered_by=staff.id,
        entered_at=now,
    )
    return rows.add(session, row)


def versions(session: Session, clinic_id: int) -> list[EnteredNearTable]:
    """Every version, the oldest first."""
    return [_entered(*found) for found in rows.of_clinic(session, NearTableRow, clinic_id, "number")]


def versions_behind(session: Session, clinic_id: int, after: str | None, limit: int) -> list[EnteredNearTable]:
    """One page of versions in the order they were entered; `after` is a public id."""
    return [_entered(*found) for found in rows.behind(session, NearTableRow, clinic_id, after, limit)]


def one(session: Session, clinic_id: int, public_id: str) -> EnteredNearTable:
    """Raises `NotFoundError` for a version that is not this clinic's."""
    return _entered(*rows.one(session, NearTableRow, clinic_id, public_id))


def _entered(r: NearTableRow, who: str) -> EnteredNearTable:
    near_table = NearTable(read_near_rows(r.near_rows), Status.COMMON_PRACTICE, author=r.author) if r.near_rows else built_in_near()
    return EnteredNearTable(r.public_id, r.number, near_table, r.from_on, who, r.entered_at)


def holding(entered: list[EnteredNearTable], day: date) -> EnteredNearTable | None:
    """The version that holds on a day: of those begun, the one that began last; None: the clinic has settled nothing."""
    return max((v for v in entered if v.from_on <= day), key=lambda v: (v.from_on, v.number), default=None)


def in_force(session: Session, clinic_id: int, day: date) -> NearTable | None:
    """The clinic's table on a day, else the built-in one; None where the clinic has switched the rule off."""
    if BY_AGE in clinic_rules.newest(session, clinic_id).limits.rules_off:
        return None
    found = holding(versions(session, clinic_id), day)
    return found.near_table if found else built_in_near()
