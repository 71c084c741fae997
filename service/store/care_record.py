"""What was said of a child's care. Only ever added to."""

from datetime import datetime
from typing import Any

from pydantic import TypeAdapter
from sqlmodel import Session, col, select

from schedules.care_facts import PatchStock, SheetLine
from service.errors import NotFoundError
from service.facts import Child, Staff, Subscription
from service.facts_of_home_care import CareEntry, CareRecord, LensWear, LineEnded, Said, SecondaryLensPlanned
from service.store.keyset import page_ids
from service.store.records import CareEntryRow, StaffRow, SubscriptionRow
from service.tokens import new_public_id

KINDS: dict[str, type[Said]] = {
    "sheet-line": SheetLine,
    "line-ended": LineEnded,
    "patches": PatchStock,
    "secondary-lens": SecondaryLensPlanned,
    "lens-wear": LensWear,
}
_KIND_OF = {said: kind for kind, said in KINDS.items()}
_CONTENT: dict[str, TypeAdapter[Any]] = {kind: TypeAdapter(said) for kind, said in KINDS.items()}


def kind_of(said: Said) -> str:
    return _KIND_OF[type(said)]


def add(session: Session, by: Staff | Subscription, child: Child, number: int, said: Said, now: datetime) -> str:
    """Entry `number` of a child. Whoever writes holds the child's row."""
    kind = kind_of(said)
    row = CareEntryRow(
        clinic_id=child.clinic_id,
        public_id=new_public_id(),
        child_id=child.id,
        number=number,
        kind=kind,
        content=_CONTENT[kind].dump_python(said, mode="json"),
        recorded_by=by.id if isinstance(by, Staff) else None,
        recorded_through=by.id if isinstance(by, Subscription) else None,
        recorded_at=now,
    )
    session.add(row)
    session.flush()
    return row.public_id


def record(session: Session, child: Child) -> CareRecord:
    return CareRecord(_read(session, CareEntryRow.child_id == child.id))


def entries_behind(session: Session, child: Child, after: str | None, limit: int) -> list[CareEntry]:
    """One page in the order they were recorded; `after` is a public id."""
    return _read(session, col(CareEntryRow.id).in_(page_ids(session, CareEntryRow, CareEntryRow.child_id == child.id, after, limit)))


def entry(session: Session, child: Child, public_id: str) -> CareEntry:
    """Raises `NotFoundError` for an unknown entry and for one of another child alike."""
    found = _read(session, (CareEntryRow.child_id == child.id) & (CareEntryRow.public_id == public_id))
    if not found:
        raise NotFoundError
    return found[0]


def _read(session: Session, which: Any) -> list[CareEntry]:
    rows = session.exec(
        select(CareEntryRow, StaffRow.name, SubscriptionRow.caregiver)
        .join(StaffRow, col(StaffRow.id) == col(CareEntryRow.recorded_by), isouter=True)
        .join(SubscriptionRow, col(SubscriptionRow.id) == col(CareEntryRow.recorded_through), isouter=True)
        .where(which)
        .order_by(col(CareEntryRow.number))
    ).all()
    return [
        CareEntry(r.public_id, r.number, _CONTENT[r.kind].validate_python(r.content), staff or caregiver, staff is None, r.recorded_at)
        for r, staff, caregiver in rows
    ]
