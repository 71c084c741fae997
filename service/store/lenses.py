"""Lens ranges, the ledger of lenses, and made-up lenses as measured. Only ever added to."""

from collections.abc import Mapping
from datetime import date, datetime
from typing import Any

from sqlalchemy.exc import IntegrityError
from sqlmodel import Session, col, select

from service.errors import NotFoundError
from service.facts import Child, Staff
from service.facts_of_care import EnteredRange, LedgerLens, LensCheck, LensEntry
from service.store.records import CorrectionRow, LensCheckRow, LensEntryRow, LensRangeRow, LensRow, StaffRow
from service.tokens import new_public_id
from shared.errors import ClinicalInputError
from shared.findings import msg
from shared.lens_range import LensRange, read_millimetres, read_spans, shown_spans
from shared.vocabulary import Laterality, LensMaterial, LensState, PowerPlane, Status, WearSchedule


def add_range(session: Session, staff: Staff, lens_range: LensRange, from_on: date, withdrawn: bool, now: datetime) -> str:
    """Raises `ClinicalInputError` naming `from_on` where this range already has an entry for that day."""
    row = LensRangeRow(
        clinic_id=staff.clinic_id,
        public_id=new_public_id(),
        name=lens_range.name,
        from_on=from_on,
        powers=shown_spans(lens_range.spans),
        base_curves_mm=_typed(lens_range.base_curves_mm),
        diameters_mm=_typed(lens_range.diameters_mm),
        material=lens_range.material,
        wear_schedule=lens_range.wear_schedule,
        withdrawn=withdrawn,
        entered_by=staff.id,
        entered_at=now,
    )
    try:
        with session.begin_nested():
            session.add(row)
    except IntegrityError:
        taken = msg("“%(name)s” already has an entry that begins on %(on)s; choose another day.", name=lens_range.name, on=from_on)
        raise ClinicalInputError("from_on", taken) from None
    return row.public_id


def _typed(sizes: tuple[float, ...]) -> str:
    return "; ".join(f"{size:g}" for size in sizes)


def ranges(session: Session, clinic_id: int) -> list[EnteredRange]:
    """Every entry, by name and then by date."""
    rows = session.exec(
        select(LensRangeRow, StaffRow)
        .join(StaffRow, col(StaffRow.id) == col(LensRangeRow.entered_by))
        .where(LensRangeRow.clinic_id == clinic_id)
        .order_by(col(LensRangeRow.name), col(LensRangeRow.from_on))
    ).all()
    return [EnteredRange(r.public_id, _range(r), r.from_on, r.withdrawn, who.name, r.entered_at) for r, who in rows]


def _range(r: LensRangeRow) -> LensRange:
    return LensRange(
        name=r.name,
        spans=read_spans(r.powers),
        status=Status.COMMON_PRACTICE,
        base_curves_mm=read_millimetres(r.base_curves_mm, "base_curves_mm"),
        diameters_mm=read_millimetres(r.diameters_mm, "diameters_mm"),
        material=LensMaterial(r.material) if r.material else None,
        wear_schedule=WearSchedule(r.wear_schedule) if r.wear_schedule else None,
    )


def ranges_on(session: Session, clinic_id: int, day: date) -> list[EnteredRange]:
    """The ranges that hold on a day: of each name the newest entry that has begun, unless that one withdrew it."""
    begun = {r.lens_range.name: r for r in ranges(session, clinic_id) if r.from_on <= day}
    return [r for r in begun.values() if not r.withdrawn]


def add_lens(
    session: Session,
    child: Child,
    correction_id: str,
    eye: Laterality,
    power: float,
    plane: PowerPlane,
    base_curve_mm: float | None,
    diameter_mm: float | None,
) -> str:
    row = LensRow(
        clinic_id=child.clinic_id,
        public_id=new_public_id(),
        child_id=child.id,
        correction_id=_correction(session, child, correction_id),
        eye=eye,
        power=power,
        power_plane=plane,
        base_curve_mm=base_curve_mm,
        diameter_mm=diameter_mm,
    )
    session.add(row)
    session.flush()
    return row.public_id


def _correction(session: Session, child: Child, public_id: str) -> int:
    found = session.exec(select(CorrectionRow.id).where(CorrectionRow.child_id == child.id, CorrectionRow.public_id == public_id)).first()
    if found is None:
        raise NotFoundError
    return found


def add_entry(session: Session, child: Child, lens_id: str, staff: Staff, state: LensState, on: date, note: str, now: datetime) -> None:
    row_id = session.exec(select(LensRow.id).where(LensRow.child_id == child.id, LensRow.public_id == lens_id)).first()
    if row_id is None:
        raise NotFoundError
    session.add(LensEntryRow(clinic_id=child.clinic_id, lens_id=row_id, state=state, on=on, note=note, recorded_by=staff.id, recorded_at=now))
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
        .where(col(LensEntryRow.lens_id).in_([r.id for r, _ in rows]))
        .order_by(col(LensEntryRow.id))
    ).all()
    for e, who in found:
        entries.setdefault(e.lens_id, []).append(LensEntry(LensState(e.state), e.on, e.note, who.name, e.recorded_at))
    return [
        LedgerLens(r.public_id, correction_id, Laterality(r.eye), r.power, PowerPlane(r.power_plane), r.base_curve_mm, r.diameter_mm, tuple(entries[r.id or 0]))
        for r, correction_id in rows
    ]


def add_check(session: Session, child: Child, correction_id: str, staff: Staff, measured: Mapping[str, Any], now: datetime) -> str:
    row = LensCheckRow(
        clinic_id=child.clinic_id,
        public_id=new_public_id(),
        correction_id=_correction(session, child, correction_id),
        measured=dict(measured),
        recorded_by=staff.id,
        recorded_at=now,
    )
    session.add(row)
    session.flush()
    return row.public_id


def checks(session: Session, child: Child, correction_id: str) -> list[LensCheck]:
    """Oldest first."""
    rows = session.exec(
        select(LensCheckRow, StaffRow)
        .join(StaffRow, col(StaffRow.id) == col(LensCheckRow.recorded_by))
        .where(LensCheckRow.correction_id == _correction(session, child, correction_id))
        .order_by(col(LensCheckRow.id))
    ).all()
    return [LensCheck(r.public_id, correction_id, r.measured, who.name, r.recorded_at) for r, who in rows]
