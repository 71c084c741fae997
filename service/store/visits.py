"""Visits and what was measured; a correction is a new version, the old one stays."""

from collections.abc import Mapping
from datetime import date, datetime
from typing import Any

from sqlmodel import Session, col, select

from service.errors import ChangedMeanwhileError, NotFoundError
from service.facts import Child, EyeFindings, Staff, Visit
from service.store.records import EyeFindingRow, StaffRow, VisitRow, VisitVersion
from service.tokens import new_public_id
from shared.acuity import read_acuity
from shared.refraction import SpheroCylinder
from shared.vocabulary import AcuityMethod, CorrectionWorn, FixationPreference, Laterality, Reliability

_AS_STORED = (
    "not_testable",
    "working_distance_cm",
    "refraction_vertex_distance_mm",
    "trial_lens_dioptres",
    "over_vertex_distance_mm",
    "k1_dioptres",
    "k2_dioptres",
    "axial_length_mm",
    "pressure_mmhg",
)


def add_visit(
    session: Session, child: Child, staff: Staff, on: date, eyes: Mapping[Laterality, EyeFindings], fixation: FixationPreference | None, now: datetime
) -> str:
    row = VisitRow(clinic_id=child.clinic_id, public_id=new_public_id(), child_id=child.id, on=on)
    session.add(row)
    session.flush()
    _add_version(session, row, staff, None, eyes, fixation, now)
    return row.public_id


def correct_visit(
    session: Session,
    child: Child,
    public_id: str,
    staff: Staff,
    *,
    version: int,
    reason: str,
    eyes: Mapping[Laterality, EyeFindings],
    fixation: FixationPreference | None,
    now: datetime,
) -> None:
    """Raises `ChangedMeanwhileError` when `version` is no longer the newest."""
    row = session.exec(select(VisitRow).where(VisitRow.child_id == child.id, VisitRow.public_id == public_id).with_for_update()).first()
    if row is None:
        raise NotFoundError
    if row.version != version:
        raise ChangedMeanwhileError
    row.version += 1
    _add_version(session, row, staff, reason, eyes, fixation, now)


def _add_version(
    session: Session,
    visit: VisitRow,
    staff: Staff,
    reason: str | None,
    eyes: Mapping[Laterality, EyeFindings],
    fixation: FixationPreference | None,
    now: datetime,
) -> None:
    assert visit.id is not None
    version = VisitVersion(
        clinic_id=visit.clinic_id,
        visit_id=visit.id,
        version=visit.version,
        reason=reason,
        fixation_preference=fixation,
        recorded_by=staff.id,
        recorded_at=now,
    )
    session.add(version)
    session.flush()
    assert version.id is not None
    for eye in Laterality:
        session.add(EyeFindingRow(clinic_id=visit.clinic_id, visit_version_id=version.id, eye=eye, **_columns(eyes[eye])))
    session.flush()


def _columns(f: EyeFindings) -> dict[str, Any]:
    columns: dict[str, Any] = {name: getattr(f, name) for name in _AS_STORED}
    columns |= {
        "acuity": f.acuity.typed if f.acuity else None,
        "acuity_method": f.acuity_method,
        "correction_worn": f.correction_worn,
        "reliability": f.reliability,
    }
    for prefix, power in (("refraction", f.refraction), ("over", f.over_refraction)):
        if power:
            columns |= {f"{prefix}_sphere": power.sphere, f"{prefix}_cylinder": power.cylinder, f"{prefix}_axis": power.axis}
    return columns


def visits(session: Session, child: Child) -> list[Visit]:
    """Every visit in its newest version, oldest first."""
    return _read(session, select(VisitRow).where(VisitRow.child_id == child.id))


def visit(session: Session, child: Child, public_id: str) -> Visit:
    found = _read(session, select(VisitRow).where(VisitRow.child_id == child.id, VisitRow.public_id == public_id))
    if not found:
        raise NotFoundError
    return found[0]


def _read(session: Session, which: Any) -> list[Visit]:
    rows = session.exec(
        select(VisitRow, VisitVersion, StaffRow)
        .join(VisitVersion, (col(VisitVersion.visit_id) == col(VisitRow.id)) & (col(VisitVersion.version) == col(VisitRow.version)))
        .join(StaffRow, col(StaffRow.id) == col(VisitVersion.recorded_by))
        .where(col(VisitRow.id).in_(which.with_only_columns(col(VisitRow.id))))
        .order_by(col(VisitRow.on), col(VisitRow.id))
    ).all()
    findings = session.exec(select(EyeFindingRow).where(col(EyeFindingRow.visit_version_id).in_([version.id for _, version, _ in rows]))).all()
    by_version: dict[int, dict[Laterality, EyeFindings]] = {}
    for f in findings:
        by_version.setdefault(f.visit_version_id, {})[Laterality(f.eye)] = _findings(f)
    return [
        Visit(
            public_id=row.public_id,
            on=row.on,
            version=row.version,
            reason=version.reason,
            fixation_preference=FixationPreference(version.fixation_preference) if version.fixation_preference else None,
            recorded_by=who.name,
            recorded_at=version.recorded_at,
            eyes=by_version[version.id or 0],
        )
        for row, version, who in rows
    ]


def _findings(row: EyeFindingRow) -> EyeFindings:
    return EyeFindings(
        eye=Laterality(row.eye),
        acuity=read_acuity(row.acuity) if row.acuity else None,
        acuity_method=AcuityMethod(row.acuity_method) if row.acuity_method else None,
        correction_worn=CorrectionWorn(row.correction_worn) if row.correction_worn else None,
        reliability=Reliability(row.reliability) if row.reliability else None,
        refraction=_power(row.refraction_sphere, row.refraction_cylinder, row.refraction_axis),
        over_refraction=_power(row.over_sphere, row.over_cylinder, row.over_axis),
        **{name: getattr(row, name) for name in _AS_STORED},
    )


def _power(sphere: float | None, cylinder: float | None, axis: float | None) -> SpheroCylinder | None:
    return None if sphere is None else SpheroCylinder(sphere, cylinder or 0.0, axis)
