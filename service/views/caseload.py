"""The children of a clinic, what plan each is on, and which of them wait for somebody."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlmodel import Session

from schedules.adherence import Adherence
from schedules.care_words import CareKind
from service.facts import Child, Clinic, SignedRegimen, Staff
from service.facts_of_care import Notice
from service.i18n import Words
from service.store import children, notices, tellings
from service.views import case, reminders_page
from service.views import tellings as tellings_view
from service.views.care import overdue_of
from service.views.care_page import named
from service.views.planned import is_off
from service.views.review_facts import review_facts
from service.views.shown import age_shown
from service.views.tellings import InboxLine
from shared.course.review import findings
from shared.findings import Weight, msg
from shared.treatment.dose import DatedDose
from shared.vocabulary import AmblyopicEye, Laterality, Phase

PAGE = 50
WEEK = timedelta(days=7)
_SAID_ELSEWHERE = (CareKind.REVIEW_DUE, CareKind.FIRST_CORRECTION)  # the review's column, and what a review would act on


@dataclass(frozen=True)
class Line:
    child: Child
    age: str
    current: SignedRegimen | None
    minutes_today: int
    covered_today: Laterality | None
    off_today: bool  # by the pattern of the dose
    off_told: bool  # as the family told
    resumes: DatedDose | None  # during a break: when the patch comes back, and how much of it
    days_to_review: int | None  # None: no review is set
    days_overdue: int
    stopped: bool
    needs_plan: bool  # not a child without an amblyopic eye: no patch is published for one
    unreached: bool  # no message, calendar or page reaches the family
    last_week: Adherence
    acts: tuple[str, ...]  # what a review would act on
    overdue: tuple[str, ...]  # care that waits for the clinic and of which nothing else on the line speaks


@dataclass(frozen=True)
class NoticeShown:
    notice: Notice
    text: str


@dataclass(frozen=True)
class Caseload:
    clinic: Clinic
    told: tuple[InboxLine, ...]  # what families told and nobody has closed
    late_since: datetime | None  # messages to families wait that should have gone
    notices: tuple[NoticeShown, ...]
    lines: tuple[Line, ...]
    after: str | None  # the reference the next page starts behind


def view(session: Session, staff: Staff, clinic: Clinic, words: Words, after: str, now: datetime) -> Caseload:
    waiting = tuple(NoticeShown(n, words.text(n.message)) for n in notices.notices(session, staff)) if staff.examines else ()
    found = children.children(session, clinic.id, after, PAGE + 1)
    lines = tuple(_line(session, case.load(session, child, now), words, now) for child in found[:PAGE])
    told = tellings_view.inbox(tellings.open_of_clinic(session, clinic.id), now, words)
    late_since = reminders_page.late_since(session, clinic.id, now)
    return Caseload(clinic, told, late_since, waiting, lines, found[PAGE - 1].reference if len(found) > PAGE else None)


def _line(session: Session, c: case.Case, words: Words, now: datetime) -> Line:
    newest = c.newest.regimen if c.newest else None
    review_on = newest.review_on if newest else None
    stopped = newest is not None and newest.phase is Phase.STOP
    return Line(
        child=c.child,
        age=age_shown(c.child.born_on, c.today, words),
        current=c.current,
        minutes_today=c.current.regimen.minutes_on(c.today) if c.current else 0,
        covered_today=c.current.regimen.covered_on(c.today) if c.current else None,
        off_today=c.current is not None and c.current.regimen.off_by_pattern(c.today),
        off_told=is_off(c, c.today),
        resumes=c.current.regimen.resumes(c.today) if c.current else None,
        days_to_review=(review_on - c.today).days if review_on else None,
        days_overdue=(c.today - review_on).days if review_on else 0,
        stopped=stopped,
        needs_plan=c.current is None and not stopped and (newest is not None or c.child.amblyopic_eye is not AmblyopicEye.NONE),
        unreached=reminders_page.unreached(session, c, now),
        last_week=c.adherence(c.today - WEEK, c.today),
        acts=tuple(words.text(f.message) for f in findings(review_facts(c)) if f.weight is Weight.ACT),
        overdue=tuple(words.text(msg("%(what)s, due %(on)s", what=named(i, words), on=i.due_on)) for i in overdue_of(c) if i.kind not in _SAID_ELSEWHERE),
    )
