"""What a clinic has set for its reviews. Only ever added to."""

from datetime import datetime

from sqlalchemy.exc import IntegrityError
from sqlmodel import Session, col, select

from service.errors import ChangedMeanwhileError
from service.facts import Staff
from service.facts_of_care import ClinicRules
from service.store.records import ClinicRulesRow, StaffRow
from shared.course.limits import ReviewLimits

UNSET = ClinicRules(ReviewLimits(), 0)


def newest(session: Session, clinic_id: int) -> ClinicRules:
    found = versions(session, clinic_id)
    return found[0] if found else UNSET


def versions(session: Session, clinic_id: int) -> list[ClinicRules]:
    """The newest first."""
    rows = session.exec(
        select(ClinicRulesRow, StaffRow)
        .join(StaffRow, col(StaffRow.id) == col(ClinicRulesRow.set_by))
        .where(ClinicRulesRow.clinic_id == clinic_id)
        .order_by(col(ClinicRulesRow.number).desc())
    ).all()
    return [ClinicRules(_limits(r), r.number, r.reason, who.name, r.set_at) for r, who in rows]


def _limits(r: ClinicRulesRow) -> ReviewLimits:
    return ReviewLimits(r.low_share, r.over_share, r.lens_off_dioptres, frozenset(r.rules_off))


def add(session: Session, staff: Staff, limits: ReviewLimits, number: int, reason: str, now: datetime) -> None:
    """Version `number`. Raises `ChangedMeanwhileError` where somebody else has set it."""
    row = ClinicRulesRow(
        clinic_id=staff.clinic_id,
        number=number,
        low_share=limits.low_share,
        over_share=limits.over_share,
        lens_off_dioptres=limits.lens_off_dioptres,
        rules_off=sorted(limits.rules_off),
        reason=reason,
        set_by=staff.id,
        set_at=now,
    )
    try:
        with session.begin_nested():
            session.add(row)
    except IntegrityError:
        raise ChangedMeanwhileError from None
