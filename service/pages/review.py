"""The review: what was received, what was gained, and the decision."""

from collections.abc import Callable
from datetime import datetime

from fastapi import APIRouter, Request
from fastapi.responses import Response
from sqlmodel import Session

from service.access import SignedIn, StaffForm, Visitor, child_of
from service.actions import amendments
from service.db import reading, writing
from service.errors import NotAllowedError
from service.facts import Child, SignedKind, Staff
from service.forms import Form, InvalidFormError
from service.pages.answers import go, page
from service.pages.once import once
from service.views import case, review_page
from service.wiring import wiring
from shared.findings import msg
from shared.vocabulary import Phase

router = APIRouter()
ENDINGS = {"pause": Phase.PAUSE, "stop": Phase.STOP}


@router.get("/children/{child_id}/review")
def show(request: Request, visitor: SignedIn, child_id: str) -> Response:
    w = wiring(request)
    with reading(w.engine) as session:
        known = case.load(session, child_of(session, visitor.staff, child_id), w.clock.now())
    return _answer(request, visitor, visitor.form(), known)


@router.post("/children/{child_id}/review")
def sign_change(request: Request, visitor: SignedIn, form: StaffForm, child_id: str) -> Response:
    w = wiring(request)
    now = w.clock.now()
    with reading(w.engine) as session:
        known = case.load(session, child_of(session, visitor.staff, child_id), now)
    if not known.may_sign(visitor.staff, SignedKind.OCCLUSION):
        raise NotAllowedError
    try:
        sign = _change(form)
        form.check()
        with form.catching(), writing(w.engine) as session:

            def deed() -> str:
                sign(session, visitor.staff, child_of(session, visitor.staff, child_id), now)
                return f"/children/{child_id}?signed=yes"

            address = once(session, visitor, form, "sign-change", now, deed)
        form.check()
    except InvalidFormError:
        return _answer(request, visitor, form, known)
    return go(address)


def _change(form: Form) -> Callable[[Session, Staff, Child, datetime], str]:
    """What is to be signed, read from the form."""
    step = form.raw("step")
    if step == "break":
        from_on, until_on, why = form.day("from_on"), form.day("until_on"), form.text("break_reason", longest=300)
        return lambda session, staff, child, now: amendments.take_break(session, staff, child, from_on, until_on, why, now)
    if step == "extend":
        until, reason = form.day("extend_to"), form.text("extend_reason", longest=300)
        return lambda session, staff, child, now: amendments.extend(session, staff, child, until, reason, now)
    reason, review_on = form.text("reason", longest=300), form.optional_day("review_on")
    if step not in ENDINGS:
        form.refuse("reason", msg("Please choose a pause or a stop."))
    phase = ENDINGS.get(step, Phase.PAUSE)
    return lambda session, staff, child, now: amendments.decide(session, staff, child, phase, review_on if phase is Phase.PAUSE else None, reason, now)


def _answer(request: Request, visitor: Visitor, form: Form, c: case.Case) -> Response:
    view = review_page.view(c, c.may_sign(visitor.staff, SignedKind.OCCLUSION), visitor.words)
    return page(request, visitor, "clinic/review.html", 422 if form.errors else 200, form=form, page=view)
