"""Recording what was measured."""

from datetime import datetime

from sqlmodel import Session

from service.actions.visit_questions import questions
from service.clock import local_today
from service.errors import AskFirstError
from service.facts import Child, Staff
from service.facts_of_visits import AcuityTest, Examination, EyeFindings
from service.store import children, trail, visits
from shared.errors import ClinicalInputError
from shared.findings import Message, msg
from shared.optics.refraction import vertex_distance
from shared.sight.acuity import Acuity
from shared.vocabulary import AcuityFamily, AcuityMethod, Laterality

TEST_NAMES = ("first", "second")  # a visit holds up to two acuity tests; the names of their fields
_KINDS = {
    AcuityFamily.OPTOTYPE: msg("letters or pictures"),
    AcuityFamily.GRATING: msg("grating cards"),
    AcuityFamily.LOW_VISION: msg("what was observed (fingers, hand, light)"),
}


def record(
    session: Session, staff: Staff, child: Child, examination: Examination, now: datetime, *, noticed: tuple[Message, ...] = (), answered: str = ""
) -> str:
    """The visit's public id. Raises `ClinicalInputError` naming the field, `AskFirstError` unless its key was `answered`.

    `noticed` are questions that the typing itself raised, which the numbers no longer show.
    """
    _check(child, examination, now)
    _ask((*noticed, *questions(examination, visits.visits(session, child))), answered)
    public_id = visits.add_visit(session, child, staff, examination, now)
    children.facts_changed(session, child.id)
    trail.audit(session, staff.clinic_id, at=now, who=staff.public_id, action="record-visit", subject=public_id)
    return public_id


def correct(
    session: Session,
    staff: Staff,
    child: Child,
    public_id: str,
    version: int,
    reason: str,
    examination: Examination,
    now: datetime,
    *,
    noticed: tuple[Message, ...] = (),
    answered: str = "",
) -> None:
    """A new version with its reason; raises `ChangedMeanwhileError` when somebody corrected it first, and else as `record` does."""
    _check(child, examination, now)
    stood = visits.visit(session, child, public_id)
    if stood.version == version:  # else nothing is asked: the store says who was first
        others = [v for v in visits.visits(session, child) if v.public_id != public_id]
        _ask((*noticed, *questions(examination, others, stood)), answered)
    visits.correct_visit(
        session,
        child,
        public_id,
        staff,
        version=version,
        reason=reason,
        examination=examination,
        now=now,
    )
    children.facts_changed(session, child.id)
    trail.audit(session, staff.clinic_id, at=now, who=staff.public_id, action="correct-visit", subject=public_id, detail={"reason": reason})


def _ask(found: tuple[Message, ...], answered: str) -> None:
    if found and (ask := AskFirstError(found)).key != answered:
        raise ask


def _check(child: Child, examination: Examination, now: datetime) -> None:
    if examination.on < child.born_on:
        raise ClinicalInputError("on", msg("%(on)s lies before the date of birth, %(born_on)s.", on=examination.on, born_on=child.born_on))
    if examination.on > local_today(now, child.time_zone):
        raise ClinicalInputError("on", msg("%(on)s lies in the future.", on=examination.on))
    for prefix, test in zip(TEST_NAMES, examination.tests, strict=False):
        _check_test(prefix, test)
    for eye in Laterality:
        _check_eye(eye, examination.eyes[eye])


def _check_test(prefix: str, test: AcuityTest) -> None:
    for eye, r in test.readings.items():
        if r.acuity and r.not_testable:
            raise ClinicalInputError(f"{prefix}_{eye}_acuity", msg("An acuity and “not testable” together: please keep one."))
        if r.acuity and test.method is None:
            raise ClinicalInputError(f"{prefix}_method", msg("Which test gave this acuity?"))
        if r.acuity and test.method:
            _check_kind(prefix, r.acuity, test.method)


def _check_kind(prefix: str, acuity: Acuity, method: AcuityMethod) -> None:
    """Each kind of test has its own results; but a child who reads no line is shown fingers before the same chart, and it is noted there (common practice)."""
    noted_there = method.family is AcuityFamily.OPTOTYPE and acuity.family is AcuityFamily.LOW_VISION
    if acuity.family is not method.family and not noted_there:
        raise ClinicalInputError(
            f"{prefix}_method",
            msg(
                "“%(typed)s” is not a result of %(method)s: it belongs to %(kind)s. "
                "Two kinds of test are two tests: to record both, enter one as the first test and the other as the second.",
                typed=acuity.typed,
                method=method,
                kind=_KINDS[acuity.family],
            ),
        )


def _check_eye(eye: Laterality, f: EyeFindings) -> None:
    if f.refraction is not None:
        vertex_distance(f.refraction, f.refraction_vertex_distance_mm, f"{eye}_refraction_vertex_distance_mm")
    if f.over_refraction is not None:
        vertex_distance(f.over_refraction, f.over_vertex_distance_mm, f"{eye}_over_vertex_distance_mm")
    if (f.over_refraction is None) is not (f.trial_lens_dioptres is None):
        missing = "over_sphere" if f.over_refraction is None else "trial_lens_dioptres"
        raise ClinicalInputError(f"{eye}_{missing}", msg("A trial lens and the refraction over it belong together; one is missing."))
