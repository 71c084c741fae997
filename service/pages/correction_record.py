"""What was signed: the history of a child's corrections, each document, and the check of what was made up by it."""

from fastapi import APIRouter, Request
from fastapi.responses import Response

from service.access import SignedIn, StaffForm, Visitor, child_of, require_recorder
from service.actions import lens_checks as actions
from service.db import reading, writing
from service.facts import SignedCorrection
from service.facts_of_lenses import Measurements
from service.forms import Form, InvalidFormError
from service.pages.answers import go, page
from service.pages.once import once
from service.store import lenses, signed
from service.views import case, correction_document, correction_history
from service.wiring import wiring

router = APIRouter()


@router.get("/children/{child_id}/corrections")
def history_page(request: Request, visitor: SignedIn, child_id: str, oldest: str = "") -> Response:
    w = wiring(request)
    with reading(w.engine) as session:
        c = case.load(session, child_of(session, visitor.staff, child_id), w.clock.now())
    return page(request, visitor, "clinic/correction_history.html", page=correction_history.view(c, bool(oldest), visitor.words))


@router.get("/children/{child_id}/corrections/{document_id}")
def document_page(request: Request, visitor: SignedIn, child_id: str, document_id: str) -> Response:
    return _answer(request, visitor, visitor.form(), child_id, document_id)


@router.post("/children/{child_id}/corrections/{document_id}")
def check(request: Request, visitor: SignedIn, form: StaffForm, child_id: str, document_id: str) -> Response:
    require_recorder(visitor.staff)
    w = wiring(request)
    now = w.clock.now()
    try:
        with form.catching(), writing(w.engine) as session:
            child = child_of(session, visitor.staff, child_id)
            document = signed.correction(session, child, document_id)
            measured = read_measured(form, document)
            form.check()

            def deed() -> str:
                actions.record(session, visitor.staff, child, document, measured, now)
                return f"/children/{child_id}/corrections/{document_id}#checks"

            address = once(session, visitor, form, f"check-lens-{document_id}", now, deed)
        form.check()
    except InvalidFormError:
        return _answer(request, visitor, form, child_id, document_id, 422)
    return go(address)


def read_measured(form: Form, document: SignedCorrection) -> Measurements:
    measured = {}
    for eye in document.eyes:
        read = {name: form.optional_number(f"{eye}_{name}", *limits) for name, limits in actions.MEASURED[document.kind].items()}
        values = {name: value for name, value in read.items() if value is not None}
        if values:
            measured[eye.value] = values
    return measured


def _answer(request: Request, visitor: Visitor, form: Form, child_id: str, document_id: str, status: int = 200) -> Response:
    w = wiring(request)
    with reading(w.engine) as session:
        child = child_of(session, visitor.staff, child_id)
        document = signed.correction(session, child, document_id)
        c = case.load(session, child, w.clock.now())
        checks = lenses.checks(session, child, document_id)
    return page(request, visitor, "clinic/correction_document.html", status, form=form, page=correction_document.view(c, document, checks, visitor.words))
