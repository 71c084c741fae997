"""Children: their particulars, time zones and the optical status of each eye."""

from collections.abc import Sequence
from datetime import date, datetime

from sqlmodel import Session, col, select

from service.errors import ChangedMeanwhileError, NotFoundError
from service.facts import Child, EyeStatus
from service.store.keyset import page_ids
from service.store.records import ChildRow, ChildZone, EyeStatusRow
from service.tokens import new_public_id
from shared.vocabulary import Aetiology, AmblyopicEye, Laterality, OpticalStatus


def reference_taken(session: Session, clinic_id: int, reference: str) -> bool:
    return session.exec(select(ChildRow.id).where(ChildRow.clinic_id == clinic_id, ChildRow.reference == reference)).first() is not None


def add_child(
    session: Session,
    clinic_id: int,
    *,
    reference: str,
    short_name: str,
    born_on: date,
    weeks_premature: int,
    time_zone: str,
    aetiology: Aetiology,
    amblyopic_eye: AmblyopicEye,
    statuses: Sequence[EyeStatus],
    spoken_language: str = "",
    interpreter_needed: bool = False,
    now: datetime,
) -> Child:
    row = ChildRow(
        clinic_id=clinic_id,
        public_id=new_public_id(),
        reference=reference,
        short_name=short_name,
        born_on=born_on,
        weeks_premature=weeks_premature,
        aetiology=aetiology,
        amblyopic_eye=amblyopic_eye,
        spoken_language=spoken_language,
        interpreter_needed=interpreter_needed,
        registered_at=now,
    )
    session.add(row)
    session.flush()
    assert row.id is not None
    session.add(ChildZone(clinic_id=clinic_id, child_id=row.id, from_on=born_on, time_zone=time_zone))
    add_statuses(session, clinic_id, row.id, statuses, now)
    return _child(session, row)


def add_statuses(session: Session, clinic_id: int, child_id: int, statuses: Sequence[EyeStatus], now: datetime) -> None:
    for s in statuses:
        session.add(EyeStatusRow(clinic_id=clinic_id, child_id=child_id, eye=s.eye, status=s.status, since_on=s.since_on, recorded_at=now))
    session.flush()


def change_child(
    session: Session,
    child: Child,
    *,
    version: int,
    short_name: str,
    weeks_premature: int,
    aetiology: Aetiology,
    amblyopic_eye: AmblyopicEye,
    spoken_language: str,
    interpreter_needed: bool,
) -> None:
    """Raises `ChangedMeanwhileError` when `version` is no longer the stored one."""
    row = session.exec(select(ChildRow).where(ChildRow.id == child.id).with_for_update().execution_options(populate_existing=True)).one()
    if row.version != version:
        raise ChangedMeanwhileError
    row.short_name, row.weeks_premature, row.aetiology, row.amblyopic_eye = short_name, weeks_premature, aetiology, amblyopic_eye
    row.spoken_language, row.interpreter_needed = spoken_language, interpreter_needed
    row.version += 1
    row.facts_version += 1


def move_household(session: Session, child: Child, time_zone: str, from_on: date) -> None:
    """The household's zone from a date on; the days before keep theirs."""
    for later in session.exec(select(ChildZone).where(ChildZone.child_id == child.id, ChildZone.from_on > from_on)).all():
        session.delete(later)  # what was said last holds from its day on
    existing = session.exec(select(ChildZone).where(ChildZone.child_id == child.id, ChildZone.from_on == from_on)).first()
    if existing:
        existing.time_zone = time_zone
    else:
        session.add(ChildZone(clinic_id=child.clinic_id, child_id=child.id, from_on=from_on, time_zone=time_zone))
    facts_changed(session, child.id)


def facts_changed(session: Session, child_id: int) -> None:
    """Whatever was derived from this child's facts is stale from here on. Locks the child's row: writers of one child take turns."""
    row = session.exec(select(ChildRow).where(ChildRow.id == child_id).with_for_update().execution_options(populate_existing=True)).one()
    row.facts_version += 1
    session.flush()


def child(session: Session, clinic_id: int, public_id: str) -> Child:
    """Raises `NotFoundError` for an unknown child and for one of another clinic alike."""
    row = session.exec(select(ChildRow).where(ChildRow.clinic_id == clinic_id, ChildRow.public_id == public_id)).first()
    if row is None:
        raise NotFoundError
    return _child(session, row)


def child_by_id(session: Session, child_id: int) -> Child:
    return _child(session, session.get_one(ChildRow, child_id))


def children(session: Session, clinic_id: int, after: str, limit: int) -> list[Child]:
    """One page of a clinic's children in order of reference, those after `after` (a reference)."""
    rows = session.exec(
        select(ChildRow).where(ChildRow.clinic_id == clinic_id, ChildRow.reference > after).order_by(col(ChildRow.reference)).limit(limit)
    ).all()
    return [_child(session, row) for row in rows]


def children_behind(session: Session, clinic_id: int, after: str | None, limit: int) -> list[Child]:
    """One page of a clinic's children in order of registration; `after` is a public id."""
    ids = page_ids(session, ChildRow, ChildRow.clinic_id == clinic_id, after, limit)
    return [_child(session, row) for row in session.exec(select(ChildRow).where(col(ChildRow.id).in_(ids)).order_by(col(ChildRow.id))).all()]


def _child(session: Session, row: ChildRow) -> Child:
    assert row.id is not None
    zones = session.exec(select(ChildZone).where(ChildZone.child_id == row.id).order_by(col(ChildZone.from_on))).all()
    statuses = session.exec(select(EyeStatusRow).where(EyeStatusRow.child_id == row.id).order_by(col(EyeStatusRow.since_on), col(EyeStatusRow.id))).all()
    return Child(
        id=row.id,
        public_id=row.public_id,
        clinic_id=row.clinic_id,
        reference=row.reference,
        short_name=row.short_name,
        born_on=row.born_on,
        weeks_premature=row.weeks_premature,
        aetiology=Aetiology(row.aetiology),
        amblyopic_eye=AmblyopicEye(row.amblyopic_eye),
        zones=tuple((z.from_on, z.time_zone) for z in zones),
        statuses=tuple(EyeStatus(Laterality(s.eye), OpticalStatus(s.status), s.since_on) for s in statuses),
        version=row.version,
        facts_version=row.facts_version,
        spoken_language=row.spoken_language,
        interpreter_needed=row.interpreter_needed,
    )
