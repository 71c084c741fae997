"""The review: what was received, what was gained, and the decision."""

from fastapi import APIRouter, Request
from fastapi.responses import Response

from service.access import SignedIn, StaffForm, Visitor, child_of
from service.actions import regimens as actions
from service.db import reading, writing
from service.errors import NotAllowedError
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
def pause_or_stop(request: Request, visitor: SignedIn, form: StaffForm, child_id: str) -> Response:
    w = wiring(request)
    now = w.clock.now()
    with reading(w.engine) as session:
        known = case.load(session, child_of(session, visitor.staff, child_id), now)
    if not known.may_sign_occlusion(visitor.staff):
        raise NotAllowedError
    try:
        reason, review_on = form.text("reason", longest=300), form.optional_day("review_on")
        phase = ENDINGS.get(form.raw("step"))
        if phase is None:
            form.refuse("reason", msg("Please choose a pause or a stop."))
        form.check()
        assert phase is not None
        with form.catching(), writing(w.engine) as session:

            def deed() -> str:
                child = child_of(session, visitor.staff, child_id)
                actions.decide(session, visitor.staff, child, phase, review_on if phase is Phase.PAUSE else None, reason, now)
                return f"/children/{child_id}"

            address = once(session, visitor, form, "sign-ending", now, deed)
        form.check()
    except InvalidFormError:
        return _answer(request, visitor, form, known)
    return go(address)


def _answer(request: Request, visitor: Visitor, form: Form, c: case.Case) -> Response:
    view = review_page.view(c, c.may_sign_occlusion(visitor.staff), visitor.words)
    return page(request, visitor, "clinic/review.html", 422 if form.errors else 200, form=form, page=view)
