"""Where and of what one caregiver is reminded, settled by the family through its own link or by the clinic; and turning reminders off from a message."""

from fastapi import APIRouter, Request
from fastapi.responses import Response
from starlette.responses import JSONResponse

from service.access import PostedFields, SignedIn, StaffForm
from service.actions import contacts as actions
from service.db import reading, writing
from service.errors import NotFoundError
from service.forms import Form
from service.i18n import Words
from service.messages.compose import off_signature
from service.pages.answers import go
from service.pages.link_door import LinkDoor, of_clinic, of_family
from service.reminder_form import read_wishes, values_of
from service.store import contacts as store
from service.store import links
from service.tokens import same
from service.views import reminders_page
from service.views.languages import words_of
from service.wiring import wiring

router = APIRouter()


def show(door: LinkDoor, form: Form | None = None, status: int = 200, noted: str = "") -> Response:
    w = door.wiring
    with reading(w.engine) as session:
        subscription, child, _ = door.find(session)
        page = reminders_page.view(session, w.settings, subscription, door.words)
    form = form or Form(door.words, door.form_token, {})
    if "lead_minutes" not in form.values:  # what was sent was about an address, or nothing was
        form.values = values_of(subscription.wishes) | form.values
    return door.page("reminders", status, child=child, page=page, form=form, noted=noted)


def save(door: LinkDoor, form: Form) -> Response:
    wishes = read_wishes(form)
    if wishes is None:
        return show(door, form, 422)
    w = door.wiring
    with writing(w.engine) as session:
        subscription, child, by = door.find(session)
        actions.set_wishes(session, by, child, subscription.public_id, wishes, w.clock.now())
    return go(f"{door.address}?noted=yes")


def change(door: LinkDoor, form: Form, deed: str) -> Response:
    """One address: `add-email`, `add-number`, or named by `contact` `remove`, `on`, `off`."""
    w = door.wiring
    now = w.clock.now()
    with form.catching(), writing(w.engine) as session:
        subscription, _, by = door.find(session)
        if deed == "add-email":
            actions.add_email(session, by, subscription, form.text("email", longest=254), now)
        elif deed == "add-number":
            actions.add_number(session, by, subscription, form.text("number", longest=40), now)
        elif deed == "remove":
            actions.remove(session, by, subscription, form.raw("contact"), now)
        elif deed in ("on", "off"):
            actions.turn(session, by, subscription, form.raw("contact"), deed == "on", now)
        else:
            raise NotFoundError
    return show(door, form, 422) if form.errors else go(f"{door.address}?noted=yes")


@router.get("/children/{child_id}/links/{link_id}/reminders")
def clinic_page(request: Request, visitor: SignedIn, child_id: str, link_id: str, noted: str = "") -> Response:
    return show(of_clinic(request, visitor, child_id, link_id, "/reminders"), noted=noted)


@router.post("/children/{child_id}/links/{link_id}/reminders")
def clinic_saves(request: Request, visitor: SignedIn, form: StaffForm, child_id: str, link_id: str) -> Response:
    return save(of_clinic(request, visitor, child_id, link_id, "/reminders"), form)


@router.post("/children/{child_id}/links/{link_id}/reminders/{deed}")
def clinic_changes(request: Request, visitor: SignedIn, form: StaffForm, child_id: str, link_id: str, deed: str) -> Response:
    return change(of_clinic(request, visitor, child_id, link_id, "/reminders"), form, deed)


@router.get("/family/{token}/reminders")
def family_page(request: Request, token: str, noted: str = "") -> Response:
    return show(of_family(request, token, "/reminders"), noted=noted)


@router.post("/family/{token}/reminders")
def family_saves(request: Request, data: PostedFields, token: str) -> Response:
    door = of_family(request, token, "/reminders")
    return save(door, door.posted(data))


@router.post("/family/{token}/reminders/device")
def family_adds_device(request: Request, data: PostedFields, token: str) -> Response:
    """Sent by `push.js`, which says whatever is answered."""
    door = of_family(request, token, "/reminders")
    form = door.posted(data)
    w = door.wiring
    with form.catching(), writing(w.engine) as session:
        subscription, _, _ = door.find(session)
        actions.add_device(session, subscription, form.raw("endpoint"), form.raw("p256dh"), form.raw("auth"), w.clock.now())
    if form.errors:
        return JSONResponse({"said": next(iter(form.errors.values()))}, 422)
    return JSONResponse({"said": door.words.gettext("Saved: reminders come to this device.")}, 201)


@router.post("/family/{token}/reminders/{deed}")
def family_changes(request: Request, data: PostedFields, token: str, deed: str) -> Response:
    door = of_family(request, token, "/reminders")
    return change(door, door.posted(data), deed)


@router.get("/reminders-off/{link_id}/{contact_id}/{sign}")
def off_page(request: Request, link_id: str, contact_id: str, sign: str) -> Response:
    """GET changes nothing: link scanners open addresses."""
    return _off_page(request, _off_words(request, link_id, contact_id, sign), done=False)


@router.post("/reminders-off/{link_id}/{contact_id}/{sign}")
def off(request: Request, link_id: str, contact_id: str, sign: str) -> Response:
    """Also what a mail program posts by itself (RFC 8058, section 3.1): the signature in the address is the right to it, no cookie is asked for, and the
    answer leads nowhere else."""
    speak = _off_words(request, link_id, contact_id, sign)
    w = wiring(request)
    with writing(w.engine) as session:
        subscription = links.subscription_by_public_id(session, link_id)
        actions.turn(session, subscription, subscription, contact_id, False, w.clock.now())
    return _off_page(request, speak, done=True)


def _off_page(request: Request, speak: Words, *, done: bool) -> Response:
    answer = wiring(request).renderer.page(speak, "caregiver/reminders_off.html", {"done": done})
    answer.headers["Cache-Control"] = "no-store"
    return answer


def _off_words(request: Request, link_id: str, contact_id: str, sign: str) -> Words:
    """Raises `NotFoundError` for an address that was not made here, and for one that is not in use any more."""
    w = wiring(request)
    with reading(w.engine) as session:
        subscription = links.subscription_by_public_id(session, link_id)
        contact = store.by_public_id(session, subscription, contact_id)
        if not same(sign, off_signature(w.settings, subscription, contact)):
            raise NotFoundError
        return words_of(session, subscription)
