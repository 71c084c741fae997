"""The ledger of a child's lenses: ordering, and what becomes of each lens."""

from collections.abc import Callable
from datetime import datetime

from fastapi import APIRouter, Request
from fastapi.responses import Response
from sqlmodel import Session

from service.access import SignedIn, StaffForm, Visitor, child_of, require_recorder
from service.actions import lenses as actions
from service.db import reading, writing
from service.forms import Form, InvalidFormError
from service.pages.answers import go, page
from service.pages.once import once
from service.store import children
from service.views import case, lens_ledger
from service.wiring import wiring
from shared.findings import msg
from shared.lens_words import LensState, PowerPlane
from shared.vocabulary import Laterality

router = APIRouter()
MOST_AT_ONCE = 12  # more was mistyped
Deed = Callable[[Session, case.Case, datetime], object]


@router.get("/children/{child_id}/lenses")
def ledger_page(request: Request, visitor: SignedIn, child_id: str) -> Response:
    return _ledger(request, visitor, None, child_id)


@router.post("/children/{child_id}/lenses")
def order(request: Request, visitor: SignedIn, form: StaffForm, child_id: str) -> Response:
    require_recorder(visitor.staff)
    wanted = read_order(form)
    done = _take(request, visitor, form, child_id, "order-lens", lambda session, c, now: actions.order(session, visitor.staff, c, wanted, now))
    return go(f"/children/{child_id}/lenses") if done else _ledger(request, visitor, form, child_id, 422)


def read_order(form: Form) -> actions.LensOrder:
    correction_id, _, eye = form.text("lens").partition(":")
    if eye not in list(Laterality):
        form.refuse("lens", msg("Please choose one."))
    front = form.choice("plane", PowerPlane) is PowerPlane.FRONT_VERTEX
    count = form.number("count", 1, MOST_AT_ONCE, "lenses")
    if count != int(count):
        form.refuse("count", msg("A whole number of lenses, please."))
    label = form.number("front_vertex_power", *actions.LABEL_LIMITS_DIOPTRES, "D") if front else None
    return actions.LensOrder(
        correction_id=correction_id,
        eye=Laterality(eye) if eye in list(Laterality) else Laterality.RIGHT,
        count=int(count),
        front_vertex_power=label,
        on=form.day("on"),
        note=form.optional_text("note", longest=200),
    )


@router.get("/children/{child_id}/lenses/{lens_id}")
def lens_page(request: Request, visitor: SignedIn, child_id: str, lens_id: str) -> Response:
    return _lens(request, visitor, None, child_id, lens_id)


@router.post("/children/{child_id}/lenses/{lens_id}")
def step(request: Request, visitor: SignedIn, form: StaffForm, child_id: str, lens_id: str) -> Response:
    taken = actions.Step(form.choice("state", LensState), form.day("on"), form.optional_text("note", longest=200))
    done = _take(request, visitor, form, child_id, f"lens-step-{lens_id}", lambda session, c, now: actions.step(session, visitor.staff, c, lens_id, taken, now))
    return go(f"/children/{child_id}/lenses") if done else _lens(request, visitor, form, child_id, lens_id, 422)


def _take(request: Request, visitor: Visitor, form: Form, child_id: str, action: str, deed: Deed) -> bool:
    """Whether it was done, now or by the same form before; else the form says why not."""
    w = wiring(request)
    now = w.clock.now()
    try:
        form.check()
        with form.catching(), writing(w.engine) as session:

            def done() -> str:
                child = child_of(session, visitor.staff, child_id)
                children.facts_changed(session, child.id)  # from here on nobody else changes this child's ledger
                deed(session, case.load(session, child, now), now)
                return child_id

            once(session, visitor, form, action, now, done)
        form.check()
    except InvalidFormError:
        return False
    return True


def _ledger(request: Request, visitor: Visitor, form: Form | None, child_id: str, status: int = 200) -> Response:
    c = _case(request, visitor, child_id)
    view = lens_ledger.view(c, visitor.words)
    form = form or visitor.form(lens=view.orderable[0][0] if view.orderable else "", plane=PowerPlane.BACK_VERTEX, count=1, on=c.today)
    return page(request, visitor, "clinic/lenses.html", status, form=form, page=view)


def _lens(request: Request, visitor: Visitor, form: Form | None, child_id: str, lens_id: str, status: int = 200) -> Response:
    c = _case(request, visitor, child_id)
    view = lens_ledger.lens_view(c, actions.lens_of(c, lens_id), visitor.staff, visitor.words)
    return page(request, visitor, "clinic/lens.html", status, form=form or visitor.form(on=c.today), page=view)


def _case(request: Request, visitor: Visitor, child_id: str) -> case.Case:
    w = wiring(request)
    with reading(w.engine) as session:
        return case.load(session, child_of(session, visitor.staff, child_id), w.clock.now())
