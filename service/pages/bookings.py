"""Booked visits: book, move, cancel, was not brought; and what to measure under the next anaesthetic."""

from collections.abc import Callable

from fastapi import APIRouter, Request
from fastapi.responses import Response
from sqlmodel import Session

from service.access import SignedIn, StaffForm, Visitor, child_of, require_registrar
from service.actions import bookings as actions
from service.db import reading, writing
from service.errors import ChangedMeanwhileError, NotFoundError
from service.facts import Child
from service.forms import Form, InvalidFormError
from service.pages.answers import go, page
from service.pages.once import once
from service.views import anaesthetic_page, bookings_page, case
from service.wiring import wiring
from shared.findings import msg
from shared.vocabulary import BookingKind, BookingState

router = APIRouter()


def _known(request: Request, visitor: Visitor, child_id: str) -> case.Case:
    w = wiring(request)
    with reading(w.engine) as session:
        return case.load(session, child_of(session, visitor.staff, child_id), w.clock.now())


def _do(request: Request, visitor: Visitor, form: Form, child_id: str, action: str, deed: Callable[[Session, Child], object]) -> Response:
    """Carries a deed out once, and shows the bookings."""
    w = wiring(request)
    address = f"/children/{child_id}/bookings"
    with form.catching(), writing(w.engine) as session:

        def done() -> str:
            deed(session, child_of(session, visitor.staff, child_id))
            return address

        once(session, visitor, form, action, w.clock.now(), done)
    form.check()
    return go(address)


@router.get("/children/{child_id}/bookings")
def bookings(request: Request, visitor: SignedIn, child_id: str) -> Response:
    return _answer(request, visitor, visitor.form(kind=BookingKind.REVIEW), child_id)


@router.post("/children/{child_id}/bookings")
def book(request: Request, visitor: SignedIn, form: StaffForm, child_id: str) -> Response:
    require_registrar(visitor.staff)
    now = wiring(request).clock.now()
    try:
        kind, on, reason = form.choice("kind", BookingKind), form.day("on"), form.optional_text("reason", longest=300)
        form.check()
        return _do(request, visitor, form, child_id, "book-visit", lambda s, child: actions.book(s, visitor.staff, child, kind, on, reason, now))
    except InvalidFormError:
        return _answer(request, visitor, form, child_id, 422)


def _answer(request: Request, visitor: Visitor, form: Form, child_id: str, status: int = 200) -> Response:
    view = bookings_page.view(_known(request, visitor, child_id), visitor.clinic.not_brought_pathway, visitor.words)
    return page(request, visitor, "clinic/bookings.html", status, form=form, page=view)


@router.get("/children/{child_id}/anaesthetic")
def anaesthetic(request: Request, visitor: SignedIn, child_id: str) -> Response:
    view = anaesthetic_page.view(_known(request, visitor, child_id), visitor.words)
    return page(request, visitor, "clinic/anaesthetic.html", page=view)


@router.get("/children/{child_id}/bookings/{booking_id}")
def booking(request: Request, visitor: SignedIn, child_id: str, booking_id: str) -> Response:
    return _one(request, visitor, None, child_id, booking_id)


@router.post("/children/{child_id}/bookings/{booking_id}")
def change(request: Request, visitor: SignedIn, form: StaffForm, child_id: str, booking_id: str) -> Response:
    require_registrar(visitor.staff)
    now = wiring(request).clock.now()
    try:
        version, reason = int(form.number("version", 1, 10**6, "")), form.text("reason", longest=300)
        step = form.raw("step")
        state = form.optional_choice("step", BookingState) if step != "move" else None
        on = form.day("on") if step == "move" else None
        if on is None and state not in (BookingState.CANCELLED, BookingState.NOT_BROUGHT):
            form.refuse("reason", msg("Please choose what became of the visit."))
        form.check()

        def deed(session: Session, child: Child) -> None:
            if on is not None:
                actions.move(session, visitor.staff, child, booking_id, version, on, reason, now)
            elif state is not None:
                actions.close(session, visitor.staff, child, booking_id, version, state, reason, now)

        return _do(request, visitor, form, child_id, "change-booking", deed)
    except InvalidFormError:
        return _one(request, visitor, form, child_id, booking_id, 422)
    except ChangedMeanwhileError:
        form.refuse("reason", msg("Somebody else has changed this booking meanwhile; how it stands now is shown above. Nothing of theirs was overwritten."))
        return _one(request, visitor, form, child_id, booking_id, 409)


def _one(request: Request, visitor: Visitor, form: Form | None, child_id: str, booking_id: str, status: int = 200) -> Response:
    c = _known(request, visitor, child_id)
    found = next((b for b in c.bookings if b.public_id == booking_id), None)
    if found is None:
        raise NotFoundError
    form = form or visitor.form(on=found.on)
    form.values["version"] = str(found.version)
    view = bookings_page.shown(c, found, visitor.words)
    return page(request, visitor, "clinic/booking.html", status, form=form, child=c.child, today=c.today, b=view, pathway=visitor.clinic.not_brought_pathway)
