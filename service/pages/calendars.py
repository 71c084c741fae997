"""One caregiver's calendar, seen and settled by the clinic or by the family through its own link."""

from fastapi import APIRouter, Request
from fastapi.responses import Response

from service.access import PostedFields, SignedIn, StaffForm
from service.actions import links as actions
from service.calendar_form import read_style, values_of
from service.db import reading, writing
from service.forms import Form, InvalidFormError
from service.pages.answers import go
from service.pages.link_door import LinkDoor, of_clinic, of_family
from service.store import trail
from service.views import calendar_page, case, link_made
from service.views.languages import words_of
from shared.findings import msg

router = APIRouter()


def show(door: LinkDoor, form: Form | None = None, status: int = 200, noted: str = "") -> Response:
    w = door.wiring
    with reading(w.engine) as session:
        subscription, child, _ = door.find(session)
        view = calendar_page.view(w.settings, case.load(session, child, w.clock.now()), subscription, words_of(session, subscription), door.words)
    form = form or Form(door.words, door.form_token, values_of(subscription.style))
    return door.page("calendar", status, child=child, page=view, form=form, noted=noted)


def save(door: LinkDoor, form: Form) -> Response:
    w = door.wiring
    style = read_style(form)
    if style is not None:
        with form.catching(), writing(w.engine) as session:
            subscription, child, by = door.find(session)
            actions.set_style(session, by, child, subscription.public_id, style, w.clock.now())
    return show(door, form, 422) if form.errors else go(f"{door.address}?noted=yes")


def move(door: LinkDoor, form: Form) -> Response:
    """The address stands in this one answer, so a repeated form is told so instead of making a third."""
    w = door.wiring
    now = w.clock.now()
    try:
        with writing(w.engine) as session:
            subscription, child, by = door.find(session)
            form.values = values_of(subscription.style)
            if trail.claim(session, child.clinic_id, form.deed_key(f"rotate-{subscription.public_id}"), "rotate-calendar", now) is not None:
                form.refuse("address", msg("Another address was made already and shown once. If it is lost, make one more."))
                form.check()
            made = actions.rotate(session, by, child, subscription.public_id, now)
    except InvalidFormError:
        return show(door, Form(door.words, door.form_token, form.values, form.errors), 409)
    return door.page("calendar_moved", child=child, made=link_made.calendar_address(w.settings, made.feed_token))


@router.get("/children/{child_id}/links/{link_id}")
def clinic_page(request: Request, visitor: SignedIn, child_id: str, link_id: str, noted: str = "") -> Response:
    return show(of_clinic(request, visitor, child_id, link_id), noted=noted)


@router.post("/children/{child_id}/links/{link_id}")
def clinic_saves(request: Request, visitor: SignedIn, form: StaffForm, child_id: str, link_id: str) -> Response:
    return save(of_clinic(request, visitor, child_id, link_id), form)


@router.post("/children/{child_id}/links/{link_id}/address")
def clinic_moves(request: Request, visitor: SignedIn, form: StaffForm, child_id: str, link_id: str) -> Response:
    return move(of_clinic(request, visitor, child_id, link_id), form)


@router.get("/family/{token}/calendar")
def family_page(request: Request, token: str, noted: str = "") -> Response:
    return show(of_family(request, token, "/calendar"), noted=noted)


@router.post("/family/{token}/calendar")
def family_saves(request: Request, data: PostedFields, token: str) -> Response:
    door = of_family(request, token, "/calendar")
    return save(door, door.posted(data))


@router.post("/family/{token}/calendar/address")
def family_moves(request: Request, data: PostedFields, token: str) -> Response:
    door = of_family(request, token, "/calendar")
    return move(door, door.posted(data))
