"""Where and of what one caregiver is reminded, settled by the family through its own link or by the clinic; and turning reminders off from a message."""

from collections.abc import Callable
from dataclasses import dataclass

from fastapi import APIRouter, Request
from fastapi.responses import Response
from sqlmodel import Session
from starlette.responses import JSONResponse

from service.access import PostedFields, SignedIn, StaffForm, Visitor, child_of, require_registrar
from service.actions import contacts as actions
from service.db import reading, writing
from service.errors import NotFoundError, RefusedRequestError
from service.facts import Child, Staff, Subscription
from service.forms import Form
from service.i18n import Words
from service.messages.compose import off_signature
from service.pages.answers import go
from service.reminder_form import read_wishes, values_of
from service.store import children, links
from service.store import contacts as store
from service.tokens import same, signature
from service.views import reminders_page
from service.views.languages import words_of
from service.wiring import wiring

router = APIRouter()
Found = tuple[Subscription, Child, Staff | Subscription]


@dataclass(frozen=True)
class _Door:
    """One way to a caregiver's reminders; both share every rule behind it. `find` gives the link, its child and who acts."""

    request: Request
    address: str
    template: str
    words: Words
    form_token: str
    find: Callable[[Session], Found]
    context: dict[str, object]

    def show(self, form: Form | None = None, status: int = 200, noted: str = "") -> Response:
        w = wiring(self.request)
        with reading(w.engine) as session:
            subscription, child, _ = self.find(session)
            page = reminders_page.view(session, w.settings, subscription, self.words)
        form = form or Form(self.words, self.form_token, {})
        if "lead_minutes" not in form.values:  # what was sent was about an address, or nothing was
            form.values = values_of(subscription.wishes) | form.values
        context = {**self.context, "child": child, "page": page, "form": form, "address": self.address, "noted": noted}
        answer = w.renderer.page(self.words, self.template, context, status)
        answer.headers["Cache-Control"] = "no-store"
        return answer

    def save(self, form: Form) -> Response:
        wishes = read_wishes(form)
        if wishes is None:
            return self.show(form, 422)
        w = wiring(self.request)
        with writing(w.engine) as session:
            subscription, child, by = self.find(session)
            actions.set_wishes(session, by, child, subscription.public_id, wishes, w.clock.now())
        return go(f"{self.address}?noted=yes")

    def change(self, form: Form, deed: str) -> Response:
        """One address: `add`, or named by `contact` `remove`, `on`, `off`."""
        w = wiring(self.request)
        now = w.clock.now()
        with form.catching(), writing(w.engine) as session:
            subscription, _, by = self.find(session)
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
        return self.show(form, 422) if form.errors else go(f"{self.address}?noted=yes")


def _of_clinic(request: Request, visitor: Visitor, child_id: str, link_id: str) -> _Door:
    require_registrar(visitor.staff)

    def find(session: Session) -> Found:
        child = child_of(session, visitor.staff, child_id)
        return links.open_subscription(session, child, link_id), child, visitor.staff

    address = f"/children/{child_id}/links/{link_id}/reminders"
    return _Door(request, address, "clinic/reminders.html", visitor.words, visitor.form_token, find, {"visitor": visitor})


@router.get("/children/{child_id}/links/{link_id}/reminders")
def clinic_page(request: Request, visitor: SignedIn, child_id: str, link_id: str, noted: str = "") -> Response:
    return _of_clinic(request, visitor, child_id, link_id).show(noted=noted)


@router.post("/children/{child_id}/links/{link_id}/reminders")
def clinic_saves(request: Request, visitor: SignedIn, form: StaffForm, child_id: str, link_id: str) -> Response:
    return _of_clinic(request, visitor, child_id, link_id).save(form)


@router.post("/children/{child_id}/links/{link_id}/reminders/{deed}")
def clinic_changes(request: Request, visitor: SignedIn, form: StaffForm, child_id: str, link_id: str, deed: str) -> Response:
    return _of_clinic(request, visitor, child_id, link_id).change(form, deed)


def _of_family(request: Request, token: str) -> _Door:
    w = wiring(request)
    base = f"/family/{token}"

    def find(session: Session) -> Found:
        subscription = links.subscription_of_page(session, token)
        return subscription, children.child_by_id(session, subscription.child_id), subscription

    with reading(w.engine) as session:
        speak = words_of(session, find(session)[0])
    form_token = signature(w.settings.secret_key, "family-form", base)
    return _Door(request, f"{base}/reminders", "caregiver/reminders.html", speak, form_token, find, {"base": base})


def _posted(door: _Door, data: dict[str, str]) -> Form:
    if not same(data.get("form_token", ""), door.form_token):
        raise RefusedRequestError
    return Form.posted(door.words, door.form_token, data)


@router.get("/family/{token}/reminders")
def family_page(request: Request, token: str, noted: str = "") -> Response:
    return _of_family(request, token).show(noted=noted)


@router.post("/family/{token}/reminders")
def family_saves(request: Request, data: PostedFields, token: str) -> Response:
    door = _of_family(request, token)
    return door.save(_posted(door, data))


@router.post("/family/{token}/reminders/device")
def family_adds_device(request: Request, data: PostedFields, token: str) -> Response:
    """Sent by `push.js`, which says whatever is answered."""
    door = _of_family(request, token)
    form = _posted(door, data)
    w = wiring(request)
    with form.catching(), writing(w.engine) as session:
        subscription, _, _ = door.find(session)
        actions.add_device(session, subscription, form.raw("endpoint"), form.raw("p256dh"), form.raw("auth"), w.clock.now())
    if form.errors:
        return JSONResponse({"said": next(iter(form.errors.values()))}, 422)
    return JSONResponse({"said": door.words.gettext("Saved: reminders come to this device.")}, 201)


@router.post("/family/{token}/reminders/{deed}")
def family_changes(request: Request, data: PostedFields, token: str, deed: str) -> Response:
    door = _of_family(request, token)
    return door.change(_posted(door, data), deed)


@router.get("/reminders-off/{link_id}/{contact_id}/{sign}")
def off_page(request: Request, link_id: str, contact_id: str, sign: str, done: str = "") -> Response:
    """GET changes nothing: link scanners open addresses."""
    speak = _off_words(request, link_id, contact_id, sign)
    answer = wiring(request).renderer.page(speak, "caregiver/reminders_off.html", {"done": bool(done)})
    answer.headers["Cache-Control"] = "no-store"
    return answer


@router.post("/reminders-off/{link_id}/{contact_id}/{sign}")
def off(request: Request, link_id: str, contact_id: str, sign: str) -> Response:
    """Also what a mail program posts by itself (RFC 8058): the signature in the address is the right to it, and no cookie is asked for."""
    _off_words(request, link_id, contact_id, sign)
    w = wiring(request)
    with writing(w.engine) as session:
        subscription = links.subscription_by_public_id(session, link_id)
        actions.turn(session, subscription, subscription, contact_id, False, w.clock.now())
    return go(f"/reminders-off/{link_id}/{contact_id}/{sign}?done=yes")


def _off_words(request: Request, link_id: str, contact_id: str, sign: str) -> Words:
    """Raises `NotFoundError` for an address that was not made here, and for one that is not in use any more."""
    w = wiring(request)
    with reading(w.engine) as session:
        subscription = links.subscription_by_public_id(session, link_id)
        contact = store.by_public_id(session, subscription, contact_id)
        if not same(sign, off_signature(w.settings, subscription, contact)):
            raise NotFoundError
        return words_of(session, subscription)
