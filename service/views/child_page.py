"""A child at a glance: who, the plan in force, corrections, visits, and what asks for attention."""

from dataclasses import dataclass
from datetime import date, datetime

from sqlmodel import Session

from service.facts import Child, SignedCorrection, SignedRegimen, Visit
from service.i18n import Words
from service.views import case
from service.views.shown import FindingShown, SignedEyeShown, age_shown, finding_shown, signed_eyes
from shared.review import findings
from shared.vocabulary import CorrectionKind, Laterality


@dataclass(frozen=True)
class EyeLine:
    heading: str
    status: str
    surgery_on: date | None
    age_at_surgery: str


@dataclass(frozen=True)
class CorrectionShown:
    document: SignedCorrection
    eyes: tuple[SignedEyeShown, ...]


@dataclass(frozen=True)
class VisitLine:
    public_id: str
    on: date
    acuities: tuple[str, ...]
    test: str


@dataclass(frozen=True)
class ChildPage:
    child: Child
    age: str
    eyes: tuple[EyeLine, ...]
    current: SignedRegimen | None
    minutes_today: int
    corrections: tuple[CorrectionShown, ...]
    visits: tuple[VisitLine, ...]
    findings: tuple[FindingShown, ...]


def view(session: Session, child: Child, words: Words, now: datetime) -> ChildPage:
    c = case.load(session, child, now)
    return ChildPage(
        child=child,
        age=age_shown(child.born_on, c.today, words),
        eyes=tuple(_eye(c, eye, words) for eye in Laterality),
        current=c.current,
        minutes_today=c.current.regimen.minutes_on(c.today) if c.current else 0,
        corrections=corrections_shown(c, words),
        visits=tuple(_visit(v, words) for v in reversed(c.visits)),
        findings=tuple(finding_shown(f, words) for f in findings(c.review_facts())),
    )


def corrections_shown(c: case.Case, words: Words) -> tuple[CorrectionShown, ...]:
    newest = (c.correction(kind) for kind in CorrectionKind)
    return tuple(CorrectionShown(d, signed_eyes(d.content, words)) for d in newest if d)


def _eye(c: case.Case, eye: Laterality, words: Words) -> EyeLine:
    surgery_on = c.child.surgery_on(eye, c.today)
    status = c.child.status(eye, c.today)
    return EyeLine(
        heading=words.gettext("Right eye") if eye is Laterality.RIGHT else words.gettext("Left eye"),
        status=words.label(status) if status else words.gettext("not recorded"),
        surgery_on=surgery_on,
        age_at_surgery=words.gettext("at %(age)s") % {"age": age_shown(c.child.born_on, surgery_on, words)} if surgery_on else "",
    )


def _visit(v: Visit, words: Words) -> VisitLine:
    eyes = [v.eyes[eye] for eye in Laterality]
    acuities = tuple(f.acuity.typed if f.acuity else words.gettext("not testable") if f.not_testable else "–" for f in eyes)
    methods = {f.acuity_method for f in eyes if f.acuity_method}
    return VisitLine(v.public_id, v.on, acuities, ", ".join(words.label(m) for m in sorted(methods)))
