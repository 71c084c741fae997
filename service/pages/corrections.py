"""Working out and signing a correction."""

from collections.abc import Sequence

from fastapi import APIRouter, Request
from fastapi.responses import Response
from sqlmodel import Session

from service.access import SignedIn, StaffForm, Visitor, child_of
from service.actions import corrections as actions
from service.db import reading, writing
from service.errors import NotAllowedError
from service.facts import Child, Visit
from service.forms import Form, InvalidFormError
from service.pages.answers import go, page
from service.pages.once import once
from service.store import people, visits
from service.views import correction_page
from service.wiring import wiring
from shared.vocabulary import CorrectionKind, Laterality, SpectacleDesign

router = APIRouter()
Allowed = frozenset[CorrectionKind]
DEFAULT_VERTEX_DISTANCE_MM = 12  # common practice as a starting value; the page asks for the measured one


@router.get("/children/{child_id}/visits/{visit_id}/correction")
def form_page(request: Request, visitor: SignedIn, child_id: str, visit_id: str) -> Response:
    with reading(wiring(request).engine) as session:
        child = child_of(session, visitor.staff, child_id)
        visit = visits.visit(session, child, visit_id)
        allowed, provisional = _allowed(session, visitor), actions.provisional_eyes(visits.visits(session, child), visit)
    return _answer(request, visitor, visitor.form(**_first_values(child, visit)), child, visit, allowed, provisional)


def _first_values(child: Child, visit: Visit) -> dict[str, object]:
    """The order that suits what was measured: a lens where a trial lens was worn, else spectacles; near by the rule for the age."""
    lens = any(visit.eyes[eye].over_refraction for eye in Laterality)
    kind = CorrectionKind.CONTACT_LENS if lens else CorrectionKind.SPECTACLES
    values: dict[str, object] = {"kind": kind, "design": SpectacleDesign.SINGLE_VISION, "vertex_distance_mm": DEFAULT_VERTEX_DISTANCE_MM}
    for eye in Laterality:
        sources = actions.power_sources(visit.eyes[eye], kind)
        values[f"{eye}_source"] = sources[0] if sources else None
        near = actions.near_rule(child, visit, eye).value
        values[f"{eye}_near"] = f"{near.value:g}" if near else "0"
    return values


@router.post("/children/{child_id}/visits/{visit_id}/correction")
def work_out_or_sign(request: Request, visitor: SignedIn, form: StaffForm, child_id: str, visit_id: str) -> Response:
    w = wiring(request)
    now = w.clock.now()
    with reading(w.engine) as session:
        child = child_of(session, visitor.staff, child_id)
        visit = visits.visit(session, child, visit_id)
        allowed, provisional = _allowed(session, visitor), actions.provisional_eyes(visits.visits(session, child), visit)
    if form.raw("step") != "sign":
        return _answer(request, visitor, form, child, visit, allowed, provisional)
    try:
        order = read_order(form)
        if order.kind not in allowed:
            raise NotAllowedError
        form.check()
        with form.catching(), writing(w.engine) as session:

            def deed() -> str:
                child = child_of(session, visitor.staff, child_id)
                actions.sign(session, visitor.staff, child, visits.visit(session, child, visit_id), order, form.raw("seen"), now)
                return f"/children/{child_id}"

            address = once(session, visitor, form, "sign-correction", now, deed)
        form.check()
    except InvalidFormError:
        return _answer(request, visitor, form, child, visit, allowed, provisional)
    return go(address)


def read_order(form: Form) -> actions.Order:
    eyes = {}
    for eye in Laterality:
        source = form.optional_choice(f"{eye}_source", actions.PowerSource)
        near = form.optional_number(f"{eye}_near", 0, 4, "D")
        height = form.optional_number(f"{eye}_segment_height_mm", 5, 40, "mm")
        if source:
            eyes[eye] = actions.EyeOrder(source, near or 0.0, height)
    design = form.optional_choice("design", SpectacleDesign) or SpectacleDesign.SINGLE_VISION
    return actions.Order(form.choice("kind", CorrectionKind), form.number("vertex_distance_mm", 0, 30, "mm"), eyes, design)


def _allowed(session: Session, visitor: Visitor) -> Allowed:
    """The kinds of correction this person may sign."""
    return frozenset(kind for kind, signed in actions.SIGNED_KIND.items() if people.may_sign(session, visitor.staff, signed))


def _answer(request: Request, visitor: Visitor, form: Form, child: Child, visit: Visit, allowed: Allowed, provisional: Sequence[Laterality]) -> Response:
    worked = None
    probe = form.probe()
    order = read_order(probe)
    if not probe.errors:
        with probe.catching():
            worked = actions.work_out(child, visit, order)
    form.take_errors(probe)
    if request.method == "GET":
        form.errors.clear()  # a first look is no mistake, even where this visit has nothing to work from
    view = correction_page.view(child, visit, order, worked, provisional, order.kind in allowed, visitor.words)
    return page(request, visitor, "clinic/correction.html", 422 if form.errors else 200, form=form, page=view)
