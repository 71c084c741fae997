"""An operation before it is signed: what follows from it; and those on record."""

from dataclasses import dataclass
from datetime import date

from service.actions.operations import Consequences, running
from service.facts import Child, SignedKind, Staff
from service.facts_of_care import SignedOperation
from service.i18n import Words
from service.views.case import Case
from shared.findings import msg
from shared.vocabulary import Operation


@dataclass(frozen=True)
class OperationPage:
    child: Child
    statuses: tuple[tuple[str, str], ...]  # eye, status now
    going_on: bool  # whether there is a plan that has to be suspended
    follows: tuple[str, ...]
    digest: str
    may_sign: bool
    earlier: tuple[SignedOperation, ...]


def view(c: Case, worked: Consequences | None, staff: Staff, words: Words) -> OperationPage:
    return OperationPage(
        child=c.child,
        statuses=statuses_shown(c.child, c.today, words),
        going_on=running(c.regimens, c.today) is not None,
        follows=tuple(_follows(worked, words)) if worked else (),
        digest=worked.digest if worked else "",
        may_sign=c.may_sign(staff, SignedKind.OPERATION),
        earlier=tuple(reversed(c.operations)),
    )


def statuses_shown(child: Child, today: date, words: Words) -> tuple[tuple[str, str], ...]:
    newest: dict[str, str] = {}
    for s in child.statuses:
        if s.since_on <= today:
            newest[words.label(s.eye)] = words.label(s.status)
    return tuple(newest.items())


def _follows(w: Consequences, words: Words) -> list[str]:
    s, found = w.surgery, []
    if w.suspends and s.review_on:
        suspended = msg(
            "Revision %(n)s is suspended: no patch from today until the review on %(on)s, and none after it until one is signed again.",
            n=w.suspends.number,
            on=s.review_on,
        )
        found.append(words.text(suspended))
    if w.status is not None and s.eye is not None:
        found.append(words.text(msg("From %(on)s the %(eye)s eye is recorded as: %(status)s.", on=s.on, eye=s.eye, status=w.status)))
        if w.status.operated:
            found.append(words.text(msg("To be signed anew for the %(eye)s eye: a correction, from a refraction after the operation.", eye=s.eye)))
    for document, eye in w.barred:
        barred = msg("No longer valid for the %(eye)s eye: %(kind)s measured on %(on)s.", eye=eye, kind=document.kind, on=document.visit_on)
        found.append(words.text(barred))
    if s.operation is Operation.SQUINT_SURGERY:
        found.append(words.text(msg("Acuity is compared anew, from readings taken on %(on)s or later.", on=s.on)))
    return found
