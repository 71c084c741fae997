"""What families told the clinic and nobody has closed; and each of them, with what becomes of it."""

from fastapi import APIRouter, Request
from fastapi.responses import Response

from service.access import SignedIn, StaffForm, Visitor
from service.actions import tellings as actions
from service.db import reading, writing
from service.forms import Form, InvalidFormError
from service.pages.answers import go, page
from service.store import tellings
from service.views import tellings as view
from service.wiring import wiring

router = APIRouter()


@router.get("/inbox")
def inbox_page(request: Request, visitor: SignedIn) -> Response:
    w = wiring(request)
    with reading(w.engine) as session:
        waiting = tellings.open_of_clinic(session, visitor.clinic.id)
    return page(request, visitor, "clinic/inbox.html", lines=view.inbox(waiting, w.clock.now(), visitor.words))


@router.get("/inbox/{telling_id}")
def telling_page(request: Request, visitor: SignedIn, telling_id: str) -> Response:
    return _answer(request, visitor, telling_id, visitor.form())


@router.post("/inbox/{telling_id}")
def deal_with(request: Request, visitor: SignedIn, form: StaffForm, telling_id: str) -> Response:
    """Take it, or close it with an answer or a note."""
    w = wiring(request)
    closing = form.raw("step") == "close"
    try:
        answer, note = form.optional_text("answer", longest=actions.LONGEST), form.optional_text("note", longest=actions.LONGEST)
        form.check()
        with form.catching(), writing(w.engine) as session:
            if closing:
                actions.close(session, visitor.staff, telling_id, answer, note, w.clock.now())
            else:
                actions.take(session, visitor.staff, telling_id, w.clock.now())
        form.check()
    except InvalidFormError:
        return _answer(request, visitor, telling_id, form, 422)
    return go("/inbox" if closing else f"/inbox/{telling_id}")


def _answer(request: Request, visitor: Visitor, telling_id: str, form: Form, status: int = 200) -> Response:
    w = wiring(request)
    with reading(w.engine) as session:
        telling = tellings.one(session, visitor.clinic.id, telling_id)
    (line,) = view.inbox([telling], w.clock.now(), visitor.words)
    return page(request, visitor, "clinic/telling.html", status, form=form, line=line, t=telling, may_close=visitor.staff.examines)
