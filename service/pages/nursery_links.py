"""Giving a nursery or a school its link, as a card to print, and taking it back."""

from datetime import timedelta

from fastapi import APIRouter, Request
from fastapi.responses import Response

from service.access import SignedIn, StaffForm, Visitor, child_of, require_registrar
from service.actions import nursery_links as actions
from service.db import reading, writing
from service.forms import Form, InvalidFormError
from service.pages.answers import go, page
from service.store import nursery_links, trail
from service.views import case, nursery_card
from service.wiring import wiring
from shared.findings import msg

router = APIRouter()


@router.get("/children/{child_id}/nursery-links")
def links_page(request: Request, visitor: SignedIn, child_id: str) -> Response:
    return _answer(request, visitor, child_id, None)


@router.post("/children/{child_id}/nursery-links")
def give(request: Request, visitor: SignedIn, form: StaffForm, child_id: str) -> Response:
    """The card stands in this one answer, so a repeated form is told so instead of giving a second link."""
    require_registrar(visitor.staff)
    w = wiring(request)
    now = w.clock.now()
    try:
        place, label, until_on = form.text("place", longest=60), form.text("label", longest=30), form.day("until_on")
        form.check()
        with form.catching(), writing(w.engine) as session:
            if trail.claim(session, visitor.clinic.id, form.deed_key("give-nursery-link"), "give-nursery-link", now) is not None:
                form.refuse("place", msg("This card was made already and shown once. If it is lost, close that link and make a new one."))
                form.check()
            child = child_of(session, visitor.staff, child_id)
            link, token = actions.give(session, visitor.staff, child, place=place, label=label, until_on=until_on, now=now)
            c = case.load(session, child, now)
        form.check()
    except InvalidFormError:
        return _answer(request, visitor, child_id, form, 422)
    card = nursery_card.view(c, link, visitor.clinic, visitor.words, f"{w.settings.public_url}/nursery/{token}")
    answer = page(request, visitor, "clinic/nursery_card.html", child=child, card=card)
    answer.headers["Cache-Control"] = "no-store"
    return answer


@router.post("/children/{child_id}/nursery-links/{link_id}/close")
def close(request: Request, visitor: SignedIn, form: StaffForm, child_id: str, link_id: str) -> Response:
    require_registrar(visitor.staff)
    w = wiring(request)
    with writing(w.engine) as session:
        actions.revoke(session, visitor.staff, child_of(session, visitor.staff, child_id), link_id, w.clock.now())
    return go(f"/children/{child_id}/nursery-links")


def _answer(request: Request, visitor: Visitor, child_id: str, form: Form | None, status: int = 200) -> Response:
    require_registrar(visitor.staff)
    w = wiring(request)
    with reading(w.engine) as session:
        c = case.load(session, child_of(session, visitor.staff, child_id), w.clock.now())
        given = nursery_links.given(session, c.child)
    usual = c.under_review.ends_on - timedelta(days=1) if c.current and c.under_review and c.under_review.ends_on else None
    form = form or visitor.form(label=visitor.words.gettext("time"), until_on=usual)
    return page(request, visitor, "clinic/nursery_links.html", status, form=form, child=c.child, links=given, today=c.today)
