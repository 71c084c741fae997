"""Drops of atropine: the published schedules, the plan in dates, and its signature."""

from datetime import timedelta

from fastapi import APIRouter, Request
from fastapi.responses import Response

from service.access import SignedIn, StaffForm, Visitor, child_of
from service.actions import atropine as actions
from service.db import reading, writing
from service.errors import NotAllowedError
from service.facts import SignedKind
from service.forms import Form, InvalidFormError
from service.pages.answers import go, page
from service.pages.once import once
from service.views import atropine_page, case
from service.wiring import wiring
from shared.treatment.dose import NoPublishedDose
from shared.treatment.grace import DROPS_DAYS
from shared.vocabulary import Laterality

router = APIRouter()
TEMPLATE = "clinic/atropine.html"


@router.get("/children/{child_id}/atropine")
def form_page(request: Request, visitor: SignedIn, child_id: str) -> Response:
    known = _known(request, visitor, child_id)
    return _answer(request, visitor, visitor.form(start_on=known.today, **_first(known)), known)


def _first(c: case.Case) -> dict[str, object]:
    """The first schedule offered and the first visit of its trial; the eye is for the prescriber to say."""
    found = actions.offered(c.drop_facts())
    if isinstance(found, NoPublishedDose):
        return {}
    review = found[0].review(c.age_months)
    assert review is not None
    return {"rule": found[0].rule, "review_on": c.today + timedelta(weeks=review.value)}


@router.post("/children/{child_id}/atropine")
def look_or_sign(request: Request, visitor: SignedIn, form: StaffForm, child_id: str) -> Response:
    known = _known(request, visitor, child_id)
    if form.raw("step") != "sign":
        return _answer(request, visitor, form, known)
    if not known.may_sign(visitor.staff, SignedKind.ATROPINE):
        raise NotAllowedError
    w = wiring(request)
    now = w.clock.now()
    try:
        draft = _draft(form)
        form.check()
        with form.catching(), writing(w.engine) as session:

            def deed() -> str:
                child = child_of(session, visitor.staff, child_id)
                actions.sign(session, visitor.staff, child, lambda: case.load(session, child, now).drop_facts(), draft, form.raw("seen"), now)
                return f"/children/{child_id}?signed=yes"

            address = once(session, visitor, form, "sign-atropine", now, deed)
        form.check()
    except InvalidFormError:
        return _answer(request, visitor, form, known)
    return go(address)


def _known(request: Request, visitor: Visitor, child_id: str) -> case.Case:
    w = wiring(request)
    with reading(w.engine) as session:
        return case.load(session, child_of(session, visitor.staff, child_id), w.clock.now())


def _draft(form: Form) -> actions.DropDraft:
    return actions.DropDraft(
        rule=form.raw("rule"),
        start_on=form.day("start_on"),
        review_on=form.day("review_on"),
        drop_eye=form.optional_choice("drop_eye", Laterality),
        reason=form.optional_text("reason", longest=300),
        confirmed=form.ticked("confirmed"),
        grace_days=form.whole("grace_days", 0, DROPS_DAYS, form.words.gettext("days")) if form.raw("grace_days") else 0,
        cautions_read=form.ticked("cautions_read"),
    )


def _answer(request: Request, visitor: Visitor, form: Form, c: case.Case) -> Response:
    """The page with the plan as it would be signed, or with the errors that stand in its way."""
    found = None
    if request.method != "GET":
        probe = form.probe()
        draft = _draft(probe)
        if not probe.errors:
            with probe.catching():
                found = actions.work_out(c.child, c.drop_facts(), draft, c.next_number, c.today)
        form.take_errors(probe)
    view = atropine_page.view(c, c.drop_facts(), found, c.may_sign(visitor.staff, SignedKind.ATROPINE), visitor.words)
    return page(request, visitor, TEMPLATE, 422 if form.errors else 200, form=form, page=view)
