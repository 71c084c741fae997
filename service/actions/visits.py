"""Recording what was measured."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime

from sqlmodel import Session

from service.clock import local_today
from service.facts import Child, EyeFindings, Staff
from service.store import children, trail, visits
from shared.errors import ClinicalInputError
from shared.findings import Message, msg
from shared.refraction import SpheroCylinder
from shared.vocabulary import FixationPreference, Laterality

VERTEX_MATTERS_BEYOND_DIOPTRES = 4.0  # common practice: below it the vertex distance changes less than a quarter dioptre


@dataclass(frozen=True)
class Examination:
    on: date
    eyes: Mapping[Laterality, EyeFindings]
    fixation_preference: FixationPreference | None


def record(session: Session, staff: Staff, child: Child, examination: Examination, now: datetime) -> str:
    """The visit's public id. Raises `ClinicalInputError` naming the field."""
    _check(child, examination, now)
    public_id = visits.add_visit(session, child, staff, examination.on, examination.eyes, examination.fixation_preference, now)
    children.facts_changed(session, child.id)
    trail.audit(session, staff.clinic_id, at=now, who=staff.public_id, action="record-visit", subject=public_id)
    return public_id


def correct(session: Session, staff: Staff, child: Child, public_id: str, version: int, reason: str, examination: Examination, now: datetime) -> None:
    """A new version with its reason; raises `ChangedMeanwhileError` when somebody corrected it first."""
    _check(child, examination, now)
    visits.correct_visit(
        session,
        child,
        public_id,
        staff,
        version=version,
        reason=reason,
        eyes=examination.eyes,
        fixation=examination.fixation_preference,
        now=now,
    )
    children.facts_changed(session, child.id)
    trail.audit(session, staff.clinic_id, at=now, who=staff.public_id, action="correct-visit", subject=public_id, detail={"reason": reason})


def _check(child: Child, examination: Examination, now: datetime) -> None:
    if examination.on < child.born_on:
        raise ClinicalInputError("on", msg("%(on)s lies before the date of birth, %(born_on)s.", on=examination.on, born_on=child.born_on))
    if examination.on > local_today(now, child.time_zone):
        raise ClinicalInputError("on", msg("%(on)s lies in the future.", on=examination.on))
    for eye in Laterality:
        _check_eye(eye, examination.eyes[eye])


def _check_eye(eye: Laterality, f: EyeFindings) -> None:
    if f.acuity and f.not_testable:
        raise ClinicalInputError(f"{eye}_acuity", msg("An acuity and “not testable” together: please keep one."))
    if f.acuity and f.acuity_method is None:
        raise ClinicalInputError(f"{eye}_acuity_method", msg("Which test gave this acuity?"))
    if f.acuity and f.acuity_method and f.acuity.family is not f.acuity_method.family:
        raise ClinicalInputError(f"{eye}_acuity_method", msg("“%(typed)s” is not a result of %(method)s.", typed=f.acuity.typed, method=f.acuity_method))
    if f.refraction is not None and f.refraction_vertex_distance_mm is None and _strong(f.refraction):
        raise ClinicalInputError(f"{eye}_refraction_vertex_distance_mm", _vertex_needed())
    if f.over_refraction is not None and f.over_vertex_distance_mm is None and _strong(f.over_refraction):
        raise ClinicalInputError(f"{eye}_over_vertex_distance_mm", _vertex_needed())
    if (f.over_refraction is None) is not (f.trial_lens_dioptres is None):
        missing = "over_sphere" if f.over_refraction is None else "trial_lens_dioptres"
        raise ClinicalInputError(f"{eye}_{missing}", msg("A trial lens and the refraction over it belong together; one is missing."))


def _strong(power: SpheroCylinder) -> bool:
    return max(abs(power.sphere), abs(power.sphere + power.cylinder)) > VERTEX_MATTERS_BEYOND_DIOPTRES


def _vertex_needed() -> Message:
    return msg("Beyond %(limit)s D a power means nothing without its vertex distance in mm.", limit=f"±{VERTEX_MATTERS_BEYOND_DIOPTRES:g}")
