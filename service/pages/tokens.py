"""One's own tokens for the API."""

from fastapi import APIRouter, Request
from fastapi.responses import Response

from service.access import SignedIn, StaffForm, Visitor
from service.actions import tokens as actions
from service.db import reading, writing
from service.forms import Form, InvalidFormError
from service.pages.answers import go, page
from service.store import people, trail
from service.wiring import wiring
from shared.findings import msg

router = APIRouter()


@router.get("/tokens")
def tokens_page(request: Request, visitor: SignedIn) -> Response:
    return _answer(request, visitor, visitor.form())


@router.post("/tokens")
def give(request: Request, visitor: SignedIn, form: StaffForm) -> Response:
    """The token stands in this one answer, so a repeated form is told so instead of making a second one."""
    w = wiring(request)
    now = w.clock.now()
    try:
        label = form.text("label", longest=60)
        form.check()
        with writing(w.engine) as session:
            if trail.claim(session, visitor.clinic.id, form.deed_key("give-api-token"), "give-api-token", now) is not None:
                form.refuse("label", msg("This token was made already and shown once. If it is lost, revoke it and make a new one."))
                form.check()
            token = actions.give(session, visitor.staff, label, now)
    except InvalidFormError:
        return _answer(request, visitor, form, 422)
    answer = _answer(request, visitor, visitor.form(), token=token)
    answer.headers["Cache-Control"] = "no-store"
    return answer


@router.post("/tokens/{handle}/revoke")
def revoke(request: Request, visitor: SignedIn, form: StaffForm, handle: str) -> Response:
    w = wiring(request)
    with writing(w.engine) as session:
        actions.revoke(session, visitor.staff, handle, w.clock.now())
    return go("/tokens")


def _answer(request: Request, visitor: Visitor, form: Form, status: int = 200, token: str = "") -> Response:
    with reading(wiring(request).engine) as session:
        given = people.api_tokens(session, visitor.staff)
    return page(request, visitor, "clinic/tokens.html", status, form=form, tokens=given, token=token)
