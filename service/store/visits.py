"""Visits and what was measured; a correction is a new version, the old one stays."""

from datetime import datetime
from typing import Any

from sqlmodel import Session, col, select

from service.asked import EYE_GROUPS, VISIT_GROUPS, Asked, asked
from service.errors import ChangedMeanwhileError, NotFoundError
from service.facts import Child, Staff
from service.facts_of_visits import AcuityReading, AcuityTest, Examination, EyeFindings, Visit, VisitFindings
from service.store.keyset import page_ids
from service.store.records import AcuityReadingRow, AcuityTestRow, EyeFindingRow, StaffRow, VisitRow, VisitVersion
from service.tokens import new_public_id
from shared.optics.refraction import SpheroCylinder
from shared.sight.acuity import read_acuity
from shared.vocabulary import AcuityMethod, CorrectionWorn, FixationPreference, Laterality, Reliability, TestedEye

_AS_STORED = ("working_distance_cm", "refraction_vertex_distance_mm", "trial_lens_dioptres", "over_vertex_distance_mm")
_EYE_ASKED, _VISIT_ASKED = tuple(asked(EYE_GROUPS)), tuple(asked(VISIT_GROUPS))
_CONDITIONS = ("distance_cm", "letters_per_line", "patched_beforehand", "cycloplegia")
_NEWEST = col(VisitVersion.version) == col(VisitRow.version)


def add_visit(session: Session, child: Child, staff: Staff, examination: Examination, now: datetime) -> str:
    row = VisitRow(clinic_id=child.clinic_id, public_id=new_public_id(), child_id=child.id, on=examination.on)
    session.add(row)
    session.flush()
    _add_version(session, row, staff, None, examination, now)
    return row.public_id


def correct_visit(
    session: Session,
    child: Child,
    public_id: str,
    staff: Staff,
    *,
    version: int,
    reason: str,
    examination: Examination,
    now: datetime,
) -> None:
    """Raises `ChangedMeanwhileError` when `version` is no longer the newest."""
    row = session.exec(
        select(VisitRow).where(VisitRow.child_id == child.id, VisitRow.public_id == public_id).with_for_update().execution_options(populate_existing=True)
    ).first()
    if row is None:
        raise NotFoundError
    if row.version != version:
        raise ChangedMeanwhileError
    row.version += 1
    row.on = examination.on
    _add_version(session, row, staff, reason, examination, now)


def _add_version(session: Session, visit: VisitRow, staff: Staff, reason: str | None, examination: Examination, now: datetime) -> None:
    assert visit.id is not None
    version = VisitVersion(
        clinic_id=visit.clinic_id,
        visit_id=visit.id,
        version=visit.version,
        on=examination.on,
        reason=reason,
        tester=examination.tester,
        fixation_preference=examination.together.fixation_preference,
        **{a.name: getattr(examination.together, a.name) for a in _VISIT_ASKED},
        recorded_by=staff.id,
        recorded_at=now,
    )
    session.add(version)
    session.flush()
    assert version.id is not None
    for eye in Laterality:
        session.add(EyeFindingRow(clinic_id=visit.clinic_id, visit_version_id=version.id, eye=eye, **_columns(examination.eyes[eye])))
    for ordinal, test in enumerate(examination.tests):
        _add_test(session, version.id, visit.clinic_id, ordinal, test)
    session.flush()


def _add_test(session: Session, version_id: int, clinic_id: int, ordinal: int, test: AcuityTest) -> None:
    conditions = {name: getattr(test, name) for name in ("method", "tested_first", *_CONDITIONS)}
    row = AcuityTestRow(clinic_id=clinic_id, visit_version_id=version_id, ordinal=ordinal, **conditions)
    session.add(row)
    session.flush()
    assert row.id is not None
    for eye, r in test.readings.items():
        typed = r.acuity.typed if r.acuity else None
        session.add(
            AcuityReadingRow(
                clinic_id=clinic_id,
                acuity_test_id=row.id,
                eye=eye,
                acuity=typed,
                not_testable=r.not_testable,
                correction_worn=r.correction_worn,
                reliability=r.reliability,
            )
        )


def _columns(f: EyeFindings) -> dict[str, Any]:
    columns: dict[str, Any] = {name: getattr(f, name) for name in (*_AS_STORED, *(a.name for a in _EYE_ASKED))}
    for prefix, power in (("refraction", f.refraction), ("over", f.over_refraction)):
        if power:
            columns |= {f"{prefix}_sphere": power.sphere, f"{prefix}_cylinder": power.cylinder, f"{prefix}_axis": power.axis}
    return columns


def visits(session: Session, child: Child) -> list[Visit]:
    """Every visit in its newest version, oldest first."""
    return _read(session, col(VisitRow.child_id) == child.id, _NEWEST)


def visits_behind(session: Session, child: Child, after: str | None, limit: int) -> list[Visit]:
    """One page in the order they were recorded; `after` is a public id."""
    ids = page_ids(session, VisitRow, VisitRow.child_id == child.id, after, limit)
    found = {v.public_id: v for v in _read(session, col(VisitRow.id).in_(ids), _NEWEST)}
    return [found[public_id] for public_id in session.exec(select(VisitRow.public_id).where(col(VisitRow.id).in_(ids)).order_by(col(VisitRow.id))).all()]


def visit(session: Session, child: Child, public_id: str) -> Visit:
    """Its newest version."""
    return versions(session, child, public_id)[-1]


def versions(session: Session, child: Child, public_id: str) -> list[Visit]:
    """Every version of a visit as it stood, oldest first."""
    found = _read(session, col(VisitRow.child_id) == child.id, col(VisitRow.public_id) == public_id)
    if not found:
        raise NotFoundError
    return found


def _read(session: Session, *which: Any) -> list[Visit]:
    rows = session.exec(
        select(VisitRow, VisitVersion, StaffRow)
        .join(VisitVersion, col(VisitVersion.visit_id) == col(VisitRow.id))
        .join(StaffRow, col(StaffRow.id) == col(VisitVersion.recorded_by))
        .where(*which)
        .order_by(col(VisitRow.on), col(VisitRow.id), col(VisitVersion.version))
    ).all()
    ids = [version.id for _, version, _ in rows]
    findings = session.exec(select(EyeFindingRow).where(col(EyeFindingRow.visit_version_id).in_(ids))).all()
    tests = _tests(session, ids)
    by_version: dict[int, dict[Laterality, EyeFindings]] = {}
    for f in findings:
        by_version.setdefault(f.visit_version_id, {})[Laterality(f.eye)] = _findings(f)
    return [
        Visit(
            public_id=row.public_id,
            on=version.on,
            version=version.version,
            reason=version.reason,
            together=VisitFindings(
                fixation_preference=FixationPreference(version.fixation_preference) if version.fixation_preference else None, **_asked(version, _VISIT_ASKED)
            ),
            recorded_by=who.name,
            recorded_at=version.recorded_at,
            tests=tuple(tests.get(version.id or 0, ())),
            eyes=by_version[version.id or 0],
            tester=version.tester,
        )
        for row, version, who in rows
    ]


def _tests(session: Session, versions: list[int | None]) -> dict[int, list[AcuityTest]]:
    rows = session.exec(
        select(AcuityTestRow).where(col(AcuityTestRow.visit_version_id).in_(versions)).order_by(col(AcuityTestRow.visit_version_id), col(AcuityTestRow.ordinal))
    ).all()
    readings = session.exec(select(AcuityReadingRow).where(col(AcuityReadingRow.acuity_test_id).in_([r.id for r in rows]))).all()
    by_test: dict[int, list[AcuityReadingRow]] = {}
    for reading in readings:
        by_test.setdefault(reading.acuity_test_id, []).append(reading)
    found: dict[int, list[AcuityTest]] = {}
    for row in rows:
        found.setdefault(row.visit_version_id, []).append(_test(row, by_test.get(row.id or 0, [])))
    return found


def _test(row: AcuityTestRow, readings: list[AcuityReadingRow]) -> AcuityTest:
    return AcuityTest(
        method=AcuityMethod(row.method) if row.method else None,
        tested_first=TestedEye(row.tested_first) if row.tested_first else None,
        readings={TestedEye(r.eye): _reading(r, row) for r in sorted(readings, key=lambda r: list(TestedEye).index(TestedEye(r.eye)))},
        **{name: getattr(row, name) for name in _CONDITIONS},
    )


def _reading(r: AcuityReadingRow, test: AcuityTestRow) -> AcuityReading:
    return AcuityReading(
        acuity=read_acuity(r.acuity, distance_cm=test.distance_cm, letters_per_line=test.letters_per_line) if r.acuity else None,
        not_testable=r.not_testable,
        correction_worn=CorrectionWorn(r.correction_worn) if r.correction_worn else None,
        reliability=Reliability(r.reliability) if r.reliability else None,
    )


def _findings(row: EyeFindingRow) -> EyeFindings:
    return EyeFindings(
        eye=Laterality(row.eye),
        refraction=_power(row.refraction_sphere, row.refraction_cylinder, row.refraction_axis),
        over_refraction=_power(row.over_sphere, row.over_cylinder, row.over_axis),
        **{name: getattr(row, name) for name in _AS_STORED},
        **_asked(row, _EYE_ASKED),
    )


def _asked(row: EyeFindingRow | VisitVersion, fields: tuple[Asked, ...]) -> dict[str, Any]:
    """The stored values as what they are: numbers, or members of their vocabulary."""
    stored = ((a, getattr(row, a.name)) for a in fields)
    return {a.name: a.choices(value) if a.choices and value is not None else value for a, value in stored}


def _power(sphere: float | None, cylinder: float | None, axis: float | None) -> SpheroCylinder | None:
    return None if sphere is None else SpheroCylinder(sphere, cylinder or 0.0, axis)
