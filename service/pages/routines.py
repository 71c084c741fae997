"""The clinic's page of a child's days: try a week and see what fits, then save it."""

from fastapi import APIRouter, Request
from fastapi.responses import Response

from schedules.household import Household
from service.access import SignedIn, StaffForm, Visitor, child_of, require_registrar
from service.day_text import FIELDS
from service.db import reading
from service.errors import NotFoundError
from service.forms import Form
from service.pages.answers import go, page
from service.pages.routine_deed import first_values, take
from service.pages.routine_deed import page as view
from service.routine_forms import Asked
from service.views import case
from service.wiring import wiring

router = APIRouter()


@router.get("/children/{child_id}/routine")
def routine_page(request: Request, visitor: SignedIn, child_id: str, home: str = "") -> Response:
    c = _case(request, visitor, child_id)
    asked = _asked(c, home)
    return _answer(request, visitor, c, asked, visitor.form(**first_values(c, asked)))


@router.post("/children/{child_id}/routine")
def try_or_save(request: Request, visitor: SignedIn, form: StaffForm, child_id: str) -> Response:
    require_registrar(visitor.staff)
    w = wiring(request)
    c = _case(request, visitor, child_id)
    asked = _asked(c, form.raw("home"))
    form.values = first_values(c, asked) | form.values if form.raw("part") != "week" else form.values
    form.optional_number("tried_hours", 0, 16, "h")
    outcome = take(w.engine, c, form, asked, visitor.staff, w.clock.now())
    if outcome.saved:
        return go(f"/children/{child_id}/routine?home={asked.home}")
    if outcome.status == 409:
        c = _case(request, visitor, child_id)
    return _answer(request, visitor, c, asked, form, outcome.shown if outcome.status == 200 else None, outcome.status)


def _case(request: Request, visitor: Visitor, child_id: str) -> case.Case:
    w = wiring(request)
    with reading(w.engine) as session:
        return case.load(session, child_of(session, visitor.staff, child_id), w.clock.now())


def _asked(c: case.Case, home: str) -> Asked:
    if home and home not in {h.caregiver for h in c.household.homes}:
        raise NotFoundError
    return Asked(home, FIELDS, c.today)


def _answer(request: Request, visitor: Visitor, c: case.Case, asked: Asked, form: Form, shown: Household | None = None, status: int = 200) -> Response:
    found = view(c, asked, form, shown or c.household, f"/children/{c.child.public_id}/routine", tried=shown is not None, words=visitor.words)
    return page(request, visitor, "clinic/routine.html", status, form=form, page=found)
