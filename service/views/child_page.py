"""A child at a glance: who, the plan in force, corrections, visits, and what asks for attention."""

from dataclasses import dataclass
from datetime import date, datetime

from sqlmodel import Session

from service.facts import Child, SignedCorrection, SignedRegimen
from service.facts_of_care import Booking
from service.facts_of_visits import AcuityTest, Visit
from service.i18n import Words
from service.store import tellings
from service.views import case, in_force, reminders_page
from service.views.norms import norm_finding
from service.views.planned import is_off
from service.views.review_facts import review_facts
from service.views.shown import FindingShown, SignedEyeShown, age_shown, finding_shown, regimen_summary, signed_eyes, turns_shown
from service.views.tellings import InboxLine, inbox
from shared.course.review import findings
from shared.findings import Weight
from shared.sight.acuity_norms import AgeNorm
from shared.treatment.dose import DatedDose
from shared.vocabulary import BookingKind, Laterality, OpticalStatus, TestedEye


@dataclass(frozen=True)
class EyeLine:
    heading: str
    status: str
    since_on: date | None  # where its status changed again after the first surgery
    surgery_on: date | None
    age_at_surgery: str


@dataclass(frozen=True)
class CorrectionShown:
    document: SignedCorrection
    eyes: tuple[SignedEyeShown, ...]


@dataclass(frozen=True)
class AcuityCell:
    """`below_norm` says by which norm of its age it is below; "" where it is not, or none was published for the test."""

    typed: str
    below_norm: str = ""


@dataclass(frozen=True)
class VisitLine:
    public_id: str
    on: date
    acuities: tuple[AcuityCell, ...]
    test: str


@dataclass(frozen=True)
class ChildPage:
    child: Child
    age: str
    eyes: tuple[EyeLine, ...]
    current: SignedRegimen | None
    minutes_today: int
    covered_today: Laterality | None
    turns: str  # of eyes that alternate
    off_today: bool  # by the pattern of the dose
    off_told: bool  # as the family told
    drop_today: bool
    resumes: DatedDose | None  # during a break: when the patch comes back, and how much of it
    to_come: tuple[tuple[SignedRegimen, str], ...]
    next_review: Booking | None
    corrections: tuple[CorrectionShown, ...]
    visits: tuple[VisitLine, ...]
    findings: tuple[FindingShown, ...]
    told: tuple[InboxLine, ...]  # what the family told and nobody has closed
    messages: tuple[reminders_page.DeliveryLine, ...]
    late_since: datetime | None  # messages wait that should have gone
    unreached: bool
    aphakic: bool  # an eye is aphakic today: the page before a secondary lens is for it


def view(session: Session, child: Child, words: Words, now: datetime) -> ChildPage:
    c = case.load(session, child, now)
    return ChildPage(
        child=child,
        age=age_shown(child.born_on, c.today, words),
        eyes=tuple(_eye(c, eye, words) for eye in Laterality),
        current=c.current,
        minutes_today=c.current.regimen.minutes_on(c.today) if c.current else 0,
        covered_today=c.current.regimen.covered_on(c.today) if c.current else None,
        turns=turns_shown(c.current.regimen, words) if c.current and c.current.regimen.turn_days else "",
        off_today=c.current is not None and c.current.regimen.off_by_pattern(c.today),
        off_told=is_off(c, c.today),
        drop_today=c.current is not None and c.current.regimen.drop_on(c.today),
        resumes=c.current.regimen.resumes(c.today) if c.current else None,
        to_come=tuple((s, regimen_summary(s.regimen, words)) for s in c.to_come),
        next_review=c.booked(BookingKind.REVIEW),
        corrections=corrections_shown(c, words),
        visits=tuple(line for v in reversed(c.visits) for line in _visits(c, v, words)),
        findings=tuple(finding_shown(f, words) for f in findings(review_facts(c))),
        told=inbox([t for t in tellings.of_child(session, child) if not t.closed_at], now, words),
        messages=reminders_page.lines(session, child, words, now),
        late_since=reminders_page.late_since(session, child.clinic_id, now),
        unreached=reminders_page.unreached(session, c, now),
        aphakic=any(child.status(eye, c.today) is OpticalStatus.APHAKIC for eye in Laterality),
    )


def corrections_shown(c: case.Case, words: Words) -> tuple[CorrectionShown, ...]:
    """What holds today, each document with the eyes for which it does."""
    return tuple(CorrectionShown(d, signed_eyes(d.content, words, eyes)) for d, eyes in in_force.documents_in_force(c))


def _eye(c: case.Case, eye: Laterality, words: Words) -> EyeLine:
    surgery_on = c.child.surgery_on(eye, c.today)
    status, changed_on = c.child.status(eye, c.today), c.child.changed_on(eye, c.today)
    return EyeLine(
        heading=words.gettext("Right eye") if eye is Laterality.RIGHT else words.gettext("Left eye"),
        status=words.label(status) if status else words.gettext("not recorded"),
        since_on=changed_on if changed_on != surgery_on else None,
        surgery_on=surgery_on,
        age_at_surgery=words.gettext("at %(age)s") % {"age": age_shown(c.child.born_on, surgery_on, words)} if surgery_on else "",
    )


def _visits(c: case.Case, v: Visit, words: Words) -> list[VisitLine]:
    """One line a test; a visit without any still has its line."""
    if not v.tests:
        return [VisitLine(v.public_id, v.on, (AcuityCell("–"), AcuityCell("–")), "")]
    return [
        VisitLine(v.public_id, v.on, tuple(_cell(c, v.on, t, eye, words) for eye in Laterality), words.label(t.method) if t.method else "") for t in v.tests
    ]


def _cell(c: case.Case, on: date, test: AcuityTest, eye: Laterality, words: Words) -> AcuityCell:
    r = test.readings.get(TestedEye(eye.value))
    if r is None or r.acuity is None:
        return AcuityCell("–" if r is None else words.gettext("not testable"))
    norm = norm_finding(c.child, on, test, eye, c.rules.limits.rules_off)
    below = norm is not None and norm.weight is Weight.CHECK
    return AcuityCell(r.acuity.typed, words.label(AgeNorm(norm.sources[0])) if norm and below else "")
