"""An operation: what follows from it, and its signature."""

from datetime import timedelta

from fastapi import APIRouter, Request
from fastapi.responses import Response

from service.access import SignedIn, StaffForm, Visitor, child_of
from service.actions import operations as actions
from service.db import reading, writing
from service.forms import Form, InvalidFormError
from service.pages.answers import go, page
from service.pages.once import once
from service.views import case, operation_page
from service.wiring import wiring
from shared.vocabulary import Laterality, Operation

router = APIRouter()
FIRST_LOOK_AFTER = timedelta(days=7)  # the usual postoperative visit (common practice); the signer chooses


@router.get("/children/{child_id}/operation")
def form_page(request: Request, visitor: SignedIn, child_id: str) -> Response:
    known = _known(request, visitor, child_id)
    return _answer(request, visitor, visitor.form(on=known.today, review_on=known.today + FIRST_LOOK_AFTER), known)


@router.post("/children/{child_id}/operation")
def look_or_sign(request: Request, visitor: SignedIn, form: StaffForm, child_id: str) -> Response:
    known = _known(request, visitor, child_id)
    if form.raw("step") != "sign":
        return _answer(request, visitor, form, known)
    w = wiring(request)
    now = w.clock.now()
    try:
        surgery = _surgery(form)
        form.check()
        with form.catching(), writing(w.engine) as session:

            def deed() -> str:
                actions.sign(session, visitor.staff, child_of(session, visitor.staff, child_id), surgery, form.raw("seen"), now)
                return f"/children/{child_id}?signed=yes"

            address = once(session, visitor, form, "sign-operation", now, deed)
        form.check()
    except InvalidFormError:
        return _answer(request, visitor, form, known)
    return go(address)


def _known(request: Request, visitor: Visitor, child_id: str) -> case.Case:
    w = wiring(request)
    with reading(w.engine) as session:
        return case.load(session, child_of(session, visitor.staff, child_id), w.clock.now())


def _surgery(form: Form) -> actions.Surgery:
    return actions.Surgery(
        operation=form.choice("operation", Operation),
        eye=form.optional_choice("eye", Laterality),
        on=form.day("on"),
        review_on=form.optional_day("review_on"),
        note=form.optional_text("note", longest=300),
    )


def _answer(request: Request, visitor: Visitor, form: Form, c: case.Case) -> Response:
    worked = None
    if request.method != "GET":
        probe = form.probe()
        surgery = _surgery(probe)
        if not probe.errors:
            with probe.catching():
                worked = actions.work_out(c.child, c.regimens, c.corrections, surgery, c.today)
        form.take_errors(probe)
    view = operation_page.view(c, worked, visitor.staff, visitor.words)
    return page(request, visitor, "clinic/operation.html", 422 if form.errors else 200, form=form, page=view)
