"""The ledger of lenses, and made-up lenses as measured. Only ever added to."""

from datetime import date, datetime

from sqlmodel import Session, col, select

from service.errors import NotFoundError
from service.facts import Child, Staff
from service.facts_of_lenses import LedgerLens, LensCheck, LensEntry, Measurements, NewLens
from service.store.records import CorrectionRow, LensCheckRow, LensEntryRow, LensRow, StaffRow
from service.tokens import new_public_id
from shared.lens_words import LensState, PowerPlane
from shared.vocabulary import Laterality


def add_lens(session: Session, child: Child, made: NewLens) -> str:
    row = LensRow(
        clinic_id=child.clinic_id,
        public_id=new_public_id(),
        child_id=child.id,
        correction_id=_correction(session, child, made.correction_id),
        eye=made.eye,
        power=made.power,
        power_plane=made.power_plane,
        base_curve_mm=made.base_curve_mm,
        diameter_mm=made.diameter_mm,
    )
    session.add(row)
    session.flush()
    return row.public_id


def _correction(session: Session, child: Child, public_id: str) -> int:
    found = session.exec(select(CorrectionRow.id).where(CorrectionRow.child_id == child.id, CorrectionRow.public_id == public_id)).first()
    if found is None:
        raise NotFoundError
    return found


def add_entry(session: Session, child: Child, lens_id: str, number: int, staff: Staff, state: LensState, on: date, note: str, now: datetime) -> None:
    """Line `number` of a lens. Whoever writes holds the child's row."""
    row_id = session.exec(select(LensRow.id).where(LensRow.child_id == child.id, LensRow.public_id == lens_id)).first()
    if row_id is None:
        raise NotFoundError
    row = LensEntryRow(clinic_id=child.clinic_id, lens_id=row_id, number=number, state=state, on=on, note=note, recorded_by=staff.id, recorded_at=now)
    session.add(row)
    session.flush()


def ledger(session: Session, child: Child) -> list[LedgerLens]:
    """Every lens of a child with its entries, in the order in which they were ordered."""
    rows = session.exec(
        select(LensRow, CorrectionRow.public_id)
        .join(CorrectionRow, col(CorrectionRow.id) == col(LensRow.correction_id))
        .where(LensRow.child_id == child.id)
        .order_by(col(LensRow.id))
    ).all()
    entries: dict[int, list[LensEntry]] = {}
    found = session.exec(
        select(LensEntryRow, StaffRow)
        .join(StaffRow, col(StaffRow.id) == col(LensEntryRow.recorded_by))
        .join(LensRow, col(LensRow.id) == col(LensEntryRow.lens_id))
        .where(LensRow.child_id == child.id)
        .order_by(col(LensEntryRow.number))
    ).all()
    for e, who in found:
        entries.setdefault(e.lens_id, []).append(LensEntry(LensState(e.state), e.on, e.note, who.name, e.recorded_at))
    return [
        LedgerLens(
            r.public_id,
            NewLens(correction_id, Laterality(r.eye), r.power, PowerPlane(r.power_plane), r.base_curve_mm, r.diameter_mm),
            tuple(entries[r.id or 0]),
        )
        for r, correction_id in rows
    ]


def add_check(session: Session, child: Child, correction_id: str, staff: Staff, measured: Measurements, now: datetime) -> None:
    session.add(
        LensCheckRow(
            clinic_id=child.clinic_id,
            correction_id=_correction(session, child, correction_id),
            measured={eye: dict(values) for eye, values in measured.items()},
            recorded_by=staff.id,
            recorded_at=now,
        )
    )


def checks(session: Session, child: Child, correction_id: str) -> list[LensCheck]:
    """Oldest first."""
    rows = session.exec(
        select(LensCheckRow, StaffRow)
        .join(StaffRow, col(StaffRow.id) == col(LensCheckRow.recorded_by))
        .where(LensCheckRow.correction_id == _correction(session, child, correction_id))
        .order_by(col(LensCheckRow.id))
    ).all()
    return [LensCheck(r.measured, who.name, r.recorded_at) for r, who in rows]
