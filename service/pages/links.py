"""Giving a caregiver a link, and taking it back."""

from fastapi import APIRouter, Request
from fastapi.responses import Response

from schedules.feed_style import LONGEST_LABEL, FeedStyle
from service.access import SignedIn, StaffForm, Visitor, child_of, require_registrar
from service.actions import links as actions
from service.db import reading, writing
from service.facts import Child
from service.forms import Form, InvalidFormError
from service.pages.answers import go, page
from service.store import links, trail
from service.views import link_made
from service.wiring import wiring
from shared.findings import msg

router = APIRouter()


@router.get("/children/{child_id}/links")
def links_page(request: Request, visitor: SignedIn, child_id: str) -> Response:
    require_registrar(visitor.staff)
    with reading(wiring(request).engine) as session:
        child = child_of(session, visitor.staff, child_id)
    return _answer(request, visitor, visitor.form(label=visitor.words.gettext("time")), child)


@router.post("/children/{child_id}/links")
def issue(request: Request, visitor: SignedIn, form: StaffForm, child_id: str) -> Response:
    """The addresses stand in this one answer and are never shown again, so a repeated form is told so instead of issuing a second link."""
    require_registrar(visitor.staff)
    w = wiring(request)
    now = w.clock.now()
    with reading(w.engine) as session:
        child = child_of(session, visitor.staff, child_id)
    try:
        caregiver, label = form.text("caregiver", longest=60), form.text("label", longest=LONGEST_LABEL)
        hour = form.optional_number("alarm_hour", 0, 23, form.words.gettext("o'clock"))
        form.check()
        with form.catching(), writing(w.engine) as session:
            if trail.claim(session, visitor.clinic.id, form.deed_key("issue-link"), "issue-link", now) is not None:
                form.refuse(
                    "caregiver", msg("This link was made already and its addresses were shown once. If they are lost, close that link and make a new one.")
                )
                form.check()
            link = actions.issue(
                session,
                visitor.staff,
                child_of(session, visitor.staff, child_id),
                caregiver=caregiver,
                style=FeedStyle(label, alarm_minutes=None if hour is None else int(hour) * 60),
                now=now,
            )
        form.check()
    except InvalidFormError:
        return _answer(request, visitor, form, child, 422)
    answer = page(request, visitor, "clinic/link_made.html", child=child, made=link_made.view(w.settings, link, caregiver))
    answer.headers["Cache-Control"] = "no-store"
    return answer


@router.post("/children/{child_id}/links/{link_id}/sees-others")
def set_sees_others(request: Request, visitor: SignedIn, form: StaffForm, child_id: str, link_id: str) -> Response:
    require_registrar(visitor.staff)
    w = wiring(request)
    with writing(w.engine) as session:
        child = child_of(session, visitor.staff, child_id)
        actions.set_sees_others(session, visitor.staff, child, link_id, form.raw("sees_others") == "yes", w.clock.now())
    return go(f"/children/{child_id}/links")


@router.post("/children/{child_id}/links/{link_id}/close")
def close(request: Request, visitor: SignedIn, form: StaffForm, child_id: str, link_id: str) -> Response:
    require_registrar(visitor.staff)
    w = wiring(request)
    with writing(w.engine) as session:
        actions.revoke(session, visitor.staff, child_of(session, visitor.staff, child_id), link_id, w.clock.now())
    return go(f"/children/{child_id}/links")


def _answer(request: Request, visitor: Visitor, form: Form, child: Child, status: int = 200) -> Response:
    with reading(wiring(request).engine) as session:
        given = links.subscriptions(session, child.id)
    return page(request, visitor, "clinic/links.html", status, form=form, child=child, links=given)
