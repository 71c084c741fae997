"""Recording what was measured."""

from collections.abc import Callable, Mapping, Sequence
from datetime import datetime

from sqlmodel import Session

from service.clock import local_today
from service.facts import AcuityTest, Child, Examination, EyeFindings, Staff, Visit
from service.store import children, trail, visits
from shared import exchange
from shared.errors import ClinicalInputError
from shared.findings import Message, msg
from shared.refraction import SpheroCylinder
from shared.vocabulary import Laterality

MaybePair = tuple[float | None, float | None]  # right, left
TEST_NAMES = ("first", "second")  # a visit holds up to two acuity tests; the names of their fields
VERTEX_MATTERS_BEYOND_DIOPTRES = 4.0  # common practice: below it the vertex distance changes less than a quarter dioptre


class AskFirstError(Exception):
    """Something looks like a slip of the pen: `questions` are put to the person, who may confirm it."""

    def __init__(self, questions: tuple[Message, ...]) -> None:
        super().__init__(f"{len(questions)} questions")
        self.questions = questions


def record(session: Session, staff: Staff, child: Child, examination: Examination, now: datetime, *, confirmed: bool = False) -> str:
    """The visit's public id. Raises `ClinicalInputError` naming the field, `AskFirstError` unless what looks odd was `confirmed`."""
    _check(child, examination, now)
    odd = questions(examination, [v for v in visits.visits(session, child) if v.on <= examination.on])
    if odd and not confirmed:
        raise AskFirstError(odd)
    public_id = visits.add_visit(session, child, staff, examination, now)
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
        examination=examination,
        now=now,
    )
    children.facts_changed(session, child.id)
    trail.audit(session, staff.clinic_id, at=now, who=staff.public_id, action="correct-visit", subject=public_id, detail={"reason": reason})


def questions(examination: Examination, earlier: Sequence[Visit]) -> tuple[Message, ...]:
    """What looks exchanged between the eyes, or far from the last three visits: acuity by test, refraction, axial length."""
    found: list[Message] = []
    for test in examination.tests:
        if test.method is not None:
            name = msg("acuity by %(test)s", test=test.method)
            before = [_logmar(t) for v in earlier for t in v.tests if t.method is test.method]
            found += _odd(name, _logmar(test), before, exchange.LOGMAR)
    for name, measure, limits in ((msg("refraction"), _equivalent, exchange.DIOPTRES), (msg("axial length"), _length, exchange.MILLIMETRES)):
        found += _odd(name, _both(examination.eyes, measure), [_both(v.eyes, measure) for v in earlier], limits)
    return tuple(found)


def _odd(name: Message, now: MaybePair, earlier: Sequence[MaybePair], limits: exchange.Limits) -> list[Message]:
    whole = [(r, le) for r, le in earlier if r is not None and le is not None]
    if now[0] is not None and now[1] is not None and whole and exchange.looks_exchanged((now[0], now[1]), whole[-1], limits):
        return [msg("The %(what)s looks as if right and left were exchanged, against the last visit. Is it as typed?", what=name)]
    found = []
    for n, eye in enumerate(Laterality):
        value, last = now[n], [pair[n] for pair in earlier]
        if value is not None and exchange.looks_far(value, [x for x in last if x is not None], limits):
            found.append(msg("The %(what)s of the %(eye)s eye is far from the last visits. Is it as typed?", what=name, eye=eye))
    return found


def _logmar(test: AcuityTest) -> MaybePair:
    right, left = (acuity.logmar if (acuity := test.acuity(eye)) else None for eye in Laterality)
    return right, left


def _both(eyes: Mapping[Laterality, EyeFindings], measure: Callable[[EyeFindings], float | None]) -> MaybePair:
    right, left = (measure(eyes[eye]) for eye in Laterality)
    return right, left


def _equivalent(f: EyeFindings) -> float | None:
    return f.refraction.spherical_equivalent if f.refraction else None


def _length(f: EyeFindings) -> float | None:
    return f.axial_length_mm


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
        if r.acuity and test.method and r.acuity.family is not test.method.family:
            raise ClinicalInputError(f"{prefix}_method", msg("“%(typed)s” is not a result of %(method)s.", typed=r.acuity.typed, method=test.method))


def _check_eye(eye: Laterality, f: EyeFindings) -> None:
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
