"""Booked visits: list, book, move, close."""

from collections.abc import Callable
from datetime import date, datetime
from typing import Literal

from fastapi import APIRouter, Request
from fastapi.responses import Response
from pydantic import BaseModel, ConfigDict, Field
from sqlmodel import Session

from service.access import child_of
from service.actions import bookings as actions
from service.api.bearer import ApiRegistrar, ApiStaff
from service.api.body import Day, Filled, Line, Strict, Whole
from service.api.once import DoneOnce
from service.api.pages import Listed, Page, WantedPage
from service.api.problems import problems
from service.db import reading, writing
from service.facts import Child, Staff
from service.facts_of_care import Booking
from service.store import bookings
from service.wiring import wiring
from shared.vocabulary import BookingKind, BookingState

router = APIRouter(prefix="/children/{child_id}/bookings", tags=["bookings"], responses=problems(404))


class NewBooking(Strict):
    kind: BookingKind
    on: Day
    reason: Line = Field("", max_length=300)


class Change(Strict):
    """`version` is the booking's as it was read; somebody else's newer one is never overwritten (409)."""

    version: Whole = Field(ge=1)
    reason: Filled = Field(max_length=300)


class Moved(Change):
    on: Day


class Closed(Change):
    state: Literal[BookingState.CANCELLED, BookingState.NOT_BROUGHT]


class ChangeAnswer(BaseModel):
    model_config = ConfigDict(from_attributes=True)
    on: date
    state: BookingState
    reason: str
    changed_by: str
    changed_at: datetime


class BookingAnswer(Listed):
    """Whether it was kept is seen from the visits."""

    version: int
    kind: BookingKind
    on: date
    state: BookingState
    changes: list[ChangeAnswer] = Field(description="who booked and changed it, oldest first")


def booking_answer(b: Booking) -> BookingAnswer:
    changes = [ChangeAnswer.model_validate(c) for c in b.changes]
    return BookingAnswer(id=b.public_id, version=b.version, kind=b.kind, on=b.on, state=b.state, changes=changes)


@router.get("", summary="A child's booked visits, in the order in which they were booked")
def list_bookings(request: Request, staff: ApiStaff, child_id: str, wanted: WantedPage) -> Page[BookingAnswer]:
    with reading(wiring(request).engine) as session:
        child = child_of(session, staff, child_id)
        return wanted.page(lambda after, limit: map(booking_answer, bookings.bookings_behind(session, child, after, limit)))


@router.post("", status_code=201, summary="Book a visit", response_model=BookingAnswer, responses=problems(400, 403))
def book_visit(staff: ApiRegistrar, once: DoneOnce, child_id: str, body: NewBooking) -> Response:
    def deed(session: Session, now: datetime) -> BookingAnswer:
        child = child_of(session, staff, child_id)
        return booking_answer(bookings.booking(session, child, actions.book(session, staff, child, body.kind, body.on, body.reason, now)))

    return once.make("book-visit", body, deed)


@router.get("/{booking_id}", summary="One booked visit")
def read_booking(request: Request, staff: ApiStaff, child_id: str, booking_id: str) -> BookingAnswer:
    with reading(wiring(request).engine) as session:
        return booking_answer(bookings.booking(session, child_of(session, staff, child_id), booking_id))


def _change(request: Request, staff: Staff, child_id: str, booking_id: str, change: Callable[[Session, Child, datetime], None]) -> BookingAnswer:
    w = wiring(request)
    with writing(w.engine) as session:
        child = child_of(session, staff, child_id)
        change(session, child, w.clock.now())
        return booking_answer(bookings.booking(session, child, booking_id))


@router.post("/{booking_id}/move", summary="Move a visit; past the end of the plan it warns signer and clinic", responses=problems(403, 409))
def move_booking(request: Request, staff: ApiRegistrar, child_id: str, booking_id: str, body: Moved) -> BookingAnswer:
    return _change(
        request, staff, child_id, booking_id, lambda s, child, now: actions.move(s, staff, child, booking_id, body.version, body.on, body.reason, now)
    )


@router.post("/{booking_id}/close", summary="Cancel a visit, or say that the child was not brought", responses=problems(403, 409))
def close_booking(request: Request, staff: ApiRegistrar, child_id: str, booking_id: str, body: Closed) -> BookingAnswer:
    return _change(
        request, staff, child_id, booking_id, lambda s, child, now: actions.close(s, staff, child, booking_id, body.version, body.state, body.reason, now)
    )
