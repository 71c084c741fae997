"""One caregiver's calendar, seen and settled by the clinic or by the family through its own link."""

from collections.abc import Callable
from dataclasses import dataclass

from fastapi import APIRouter, Request
from fastapi.responses import Response
from sqlmodel import Session

from service.access import PostedFields, SignedIn, StaffForm, Visitor, child_of, require_registrar
from service.actions import links as actions
from service.calendar_form import read_style, values_of
from service.db import reading, writing
from service.errors import RefusedRequestError
from service.facts import Child, Staff, Subscription
from service.forms import Form, InvalidFormError
from service.i18n import Words
from service.pages.answers import go
from service.store import children, links, trail
from service.tokens import same, signature
from service.views import calendar_page, case, link_made
from service.views.languages import words_of
from service.wiring import wiring
from shared.findings import msg

router = APIRouter()
Found = tuple[Subscription, Child, Staff | Subscription]


@dataclass(frozen=True)
class _Door:
    """One way to a calendar; both share every rule behind it. `find` gives the link, its child and who acts."""

    request: Request
    address: str
    templates: str
    words: Words
    form_token: str
    find: Callable[[Session], Found]
    context: dict[str, object]

    def show(self, form: Form | None = None, status: int = 200, noted: str = "") -> Response:
        w = wiring(self.request)
        with reading(w.engine) as session:
            subscription, child, _ = self.find(session)
            view = calendar_page.view(w.settings, case.load(session, child, w.clock.now()), subscription, words_of(session, subscription), self.words)
        form = form or Form(self.words, self.form_token, values_of(subscription.style))
        return self._page("calendar", status, child=child, page=view, form=form, address=self.address, noted=noted)

    def save(self, form: Form) -> Response:
        w = wiring(self.request)
        style = read_style(form)
        if style is not None:
            with form.catching(), writing(w.engine) as session:
                subscription, child, by = self.find(session)
                actions.set_style(session, by, child, subscription.public_id, style, w.clock.now())
        return self.show(form, 422) if form.errors else go(f"{self.address}?noted=yes")

    def move(self, form: Form) -> Response:
        """The address stands in this one answer, so a repeated form is told so instead of making a third."""
        w = wiring(self.request)
        now = w.clock.now()
        try:
            with writing(w.engine) as session:
                subscription, child, by = self.find(session)
                form.values = values_of(subscription.style)
                if trail.claim(session, child.clinic_id, form.deed_key(f"rotate-{subscription.public_id}"), "rotate-calendar", now) is not None:
                    form.refuse("address", msg("Another address was made already and shown once. If it is lost, make one more."))
                    form.check()
                made = actions.rotate(session, by, child, subscription.public_id, now)
        except InvalidFormError:
            return self.show(Form(self.words, self.form_token, form.values, form.errors), 409)
        return self._page("calendar_moved", child=child, made=link_made.calendar_address(w.settings, made.feed_token))

    def _page(self, name: str, status: int = 200, **context: object) -> Response:
        answer = wiring(self.request).renderer.page(self.words, f"{self.templates}/{name}.html", {**self.context, **context}, status)
        answer.headers["Cache-Control"] = "no-store"
        return answer


def _of_clinic(request: Request, visitor: Visitor, child_id: str, link_id: str) -> _Door:
    require_registrar(visitor.staff)

    def find(session: Session) -> Found:
        child = child_of(session, visitor.staff, child_id)
        return links.open_subscription(session, child, link_id), child, visitor.staff

    address = f"/children/{child_id}/links/{link_id}"
    return _Door(request, address, "clinic", visitor.words, visitor.form_token, find, {"visitor": visitor})


@router.get("/children/{child_id}/links/{link_id}")
def clinic_page(request: Request, visitor: SignedIn, child_id: str, link_id: str, noted: str = "") -> Response:
    return _of_clinic(request, visitor, child_id, link_id).show(noted=noted)


@router.post("/children/{child_id}/links/{link_id}")
def clinic_saves(request: Request, visitor: SignedIn, form: StaffForm, child_id: str, link_id: str) -> Response:
    return _of_clinic(request, visitor, child_id, link_id).save(form)


@router.post("/children/{child_id}/links/{link_id}/address")
def clinic_moves(request: Request, visitor: SignedIn, form: StaffForm, child_id: str, link_id: str) -> Response:
    return _of_clinic(request, visitor, child_id, link_id).move(form)


def _of_family(request: Request, token: str) -> _Door:
    w = wiring(request)
    base = f"/family/{token}"

    def find(session: Session) -> Found:
        subscription = links.subscription_of_page(session, token)
        return subscription, children.child_by_id(session, subscription.child_id), subscription

    with reading(w.engine) as session:
        speak = words_of(session, find(session)[0])
    form_token = signature(w.settings.secret_key, "family-form", base)
    return _Door(request, f"{base}/calendar", "caregiver", speak, form_token, find, {"base": base})


def _posted(door: _Door, data: dict[str, str]) -> Form:
    if not same(data.get("form_token", ""), door.form_token):
        raise RefusedRequestError
    return Form.posted(door.words, door.form_token, data)


@router.get("/family/{token}/calendar")
def family_page(request: Request, token: str, noted: str = "") -> Response:
    return _of_family(request, token).show(noted=noted)


@router.post("/family/{token}/calendar")
def family_saves(request: Request, data: PostedFields, token: str) -> Response:
    door = _of_family(request, token)
    return door.save(_posted(door, data))


@router.post("/family/{token}/calendar/address")
def family_moves(request: Request, data: PostedFields, token: str) -> Response:
    door = _of_family(request, token)
    return door.move(_posted(door, data))
