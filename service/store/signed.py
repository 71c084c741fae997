"""Signed documents: corrections and regimen revisions. Written once."""

from collections.abc import Mapping, Sequence
from datetime import date, datetime
from typing import Any, TypeVar

from sqlmodel import Session, col, select

from schedules.regimen import Drops, Regimen
from service.errors import NotFoundError
from service.facts import Child, SignedCorrection, SignedRegimen, Staff
from service.store.keyset import page_ids
from service.store.records import CorrectionRow, RegimenRow, StaffRow, VisitRow
from service.tokens import new_public_id
from shared.treatment.dose import DatedDose
from shared.treatment.protocol_words import Pattern
from shared.vocabulary import CorrectionKind, Laterality, MissingCorrectionRule, Phase

D = TypeVar("D", SignedCorrection, SignedRegimen)


def add_correction(session: Session, child: Child, staff: Staff, visit_public_id: str, kind: CorrectionKind, content: Mapping[str, Any], now: datetime) -> str:
    visit_id = session.exec(select(VisitRow.id).where(VisitRow.child_id == child.id, VisitRow.public_id == visit_public_id)).first()
    if visit_id is None:
        raise NotFoundError
    row = CorrectionRow(
        clinic_id=child.clinic_id,
        public_id=new_public_id(),
        child_id=child.id,
        visit_id=visit_id,
        kind=kind,
        content=dict(content),
        signed_by=staff.id,
        signed_at=now,
    )
    session.add(row)
    session.flush()
    return row.public_id


def corrections(session: Session, child: Child) -> list[SignedCorrection]:
    """Oldest first."""
    return _corrections(session, CorrectionRow.child_id == child.id)


def corrections_behind(session: Session, child: Child, after: str | None, limit: int) -> list[SignedCorrection]:
    """One page, oldest first; `after` is a public id."""
    return _corrections(session, col(CorrectionRow.id).in_(page_ids(session, CorrectionRow, CorrectionRow.child_id == child.id, after, limit)))


def correction(session: Session, child: Child, public_id: str) -> SignedCorrection:
    return _only(_corrections(session, CorrectionRow.child_id == child.id, CorrectionRow.public_id == public_id))


def _corrections(session: Session, *which: Any) -> list[SignedCorrection]:
    rows = session.exec(
        select(CorrectionRow, VisitRow, StaffRow)
        .join(VisitRow, col(VisitRow.id) == col(CorrectionRow.visit_id))
        .join(StaffRow, col(StaffRow.id) == col(CorrectionRow.signed_by))
        .where(*which)
        .order_by(col(CorrectionRow.signed_at), col(CorrectionRow.id))
    ).all()
    return [SignedCorrection(r.public_id, CorrectionKind(r.kind), visit.on, r.content, who.name, r.signed_at) for r, visit, who in rows]


def next_number(session: Session, child: Child) -> int:
    numbers = session.exec(select(RegimenRow.number).where(RegimenRow.child_id == child.id)).all()
    return max(numbers, default=0) + 1


def add_regimen(session: Session, child: Child, staff: Staff, regimen: Regimen, content: Mapping[str, Any], now: datetime) -> str:
    row = RegimenRow(
        clinic_id=child.clinic_id,
        public_id=new_public_id(),
        child_id=child.id,
        number=regimen.number,
        phase=regimen.phase,
        start_on=regimen.start_on,
        review_on=regimen.review_on,
        covered_eye=regimen.covered_eye,
        missing_correction=regimen.missing_correction,
        doses=[[d.from_on.isoformat(), d.minutes, d.pattern, list(d.weekdays)] for d in regimen.doses],
        drop_eye=regimen.drops.eye if regimen.drops else None,
        drop_pattern=regimen.drops.pattern if regimen.drops else None,
        grace_days=regimen.grace_days,
        turn_days=regimen.turn_days,
        content=dict(content),
        signed_by=staff.id,
        signed_at=now,
    )
    session.add(row)
    session.flush()
    return row.public_id


def regimens(session: Session, child: Child) -> list[SignedRegimen]:
    """Every revision, by number."""
    return _regimens(session, RegimenRow.child_id == child.id)


def regimens_behind(session: Session, child: Child, after: str | None, limit: int) -> list[SignedRegimen]:
    """One page, by number; `after` is a public id."""
    return _regimens(session, col(RegimenRow.id).in_(page_ids(session, RegimenRow, RegimenRow.child_id == child.id, after, limit)))


def regimen(session: Session, child: Child, public_id: str) -> SignedRegimen:
    return _only(_regimens(session, RegimenRow.child_id == child.id, RegimenRow.public_id == public_id))


def _regimens(session: Session, *which: Any) -> list[SignedRegimen]:
    rows = session.exec(
        select(RegimenRow, StaffRow).join(StaffRow, col(StaffRow.id) == col(RegimenRow.signed_by)).where(*which).order_by(col(RegimenRow.number))
    ).all()
    return [SignedRegimen(row.public_id, _regimen(row), row.content, row.signed_by, who.name, row.signed_at) for row, who in rows]


def _only(found: Sequence[D]) -> D:
    if not found:
        raise NotFoundError
    return found[0]


def revisions(signed: Sequence[SignedRegimen]) -> tuple[Regimen, ...]:
    return tuple(s.regimen for s in signed)


def _regimen(row: RegimenRow) -> Regimen:
    return Regimen(
        number=row.number,
        phase=Phase(row.phase),
        start_on=row.start_on,
        review_on=row.review_on,
        covered_eye=Laterality(row.covered_eye) if row.covered_eye else None,
        doses=tuple(DatedDose(date.fromisoformat(on), minutes, Pattern(pattern), tuple(weekdays)) for on, minutes, pattern, weekdays in row.doses),
        missing_correction=MissingCorrectionRule(row.missing_correction),
        drops=Drops(Laterality(row.drop_eye), Pattern(row.drop_pattern)) if row.drop_eye and row.drop_pattern else None,
        grace_days=row.grace_days,
        turn_days=row.turn_days,
    )
