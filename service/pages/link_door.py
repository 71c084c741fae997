"""Two ways to what one caregiver's link settles or says: the family's own, and for some of it the clinic's, signed in. Both share every rule behind it."""

from collections.abc import Callable
from dataclasses import dataclass

from fastapi import Request
from fastapi.responses import Response
from sqlmodel import Session

from service.access import Visitor, child_of, require_registrar
from service.db import reading
from service.errors import RefusedRequestError
from service.facts import Child, Staff, Subscription
from service.forms import Form
from service.i18n import Words
from service.store import children, links
from service.tokens import same, signature
from service.views.languages import words_of
from service.wiring import Wiring, wiring

Found = tuple[Subscription, Child, Staff | Subscription]


@dataclass(frozen=True)
class LinkDoor:
    """`find` gives the link, its child and who acts; `address` is the page the door opens on, `room` where its templates stand."""

    wiring: Wiring
    address: str
    room: str
    words: Words
    form_token: str
    find: Callable[[Session], Found]
    context: dict[str, object]

    def page(self, name: str, status: int = 200, **context: object) -> Response:
        answer = self.wiring.renderer.page(self.words, f"{self.room}/{name}.html", {**self.context, "address": self.address, **context}, status)
        answer.headers["Cache-Control"] = "no-store"
        return answer

    def posted(self, data: dict[str, str]) -> Form:
        """Raises `RefusedRequestError` for a form that was not made here. A clinic's form was looked at before its door opened."""
        if not same(data.get("form_token", ""), self.form_token):
            raise RefusedRequestError
        return Form.posted(self.words, self.form_token, data)


def of_clinic(request: Request, visitor: Visitor, child_id: str, link_id: str, settles: str = "") -> LinkDoor:
    require_registrar(visitor.staff)

    def find(session: Session) -> Found:
        child = child_of(session, visitor.staff, child_id)
        return links.open_subscription(session, child, link_id), child, visitor.staff

    address = f"/children/{child_id}/links/{link_id}{settles}"
    return LinkDoor(wiring(request), address, "clinic", visitor.words, visitor.form_token, find, {"visitor": visitor})


def of_family(request: Request, token: str, settles: str) -> LinkDoor:
    w = wiring(request)
    base = f"/family/{token}"

    def find(session: Session) -> Found:
        subscription = links.subscription_of_page(session, token)
        return subscription, children.child_by_id(session, subscription.child_id), subscription

    with reading(w.engine) as session:
        speak = words_of(session, find(session)[0])
    form_token = signature(w.settings.secret_key, "family-form", base)
    return LinkDoor(w, f"{base}{settles}", "caregiver", speak, form_token, find, {"base": base})
