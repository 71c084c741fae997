"""Working out and signing a correction."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from fastapi import APIRouter, Request
from fastapi.responses import Response
from sqlmodel import Session

from service.access import SignedIn, StaffForm, Visitor, child_of
from service.actions import corrections as actions
from service.clock import local_today
from service.db import reading, writing
from service.errors import NotAllowedError
from service.facts import Child
from service.facts_of_lenses import EnteredRange
from service.facts_of_visits import Visit
from service.forms import Form, InvalidFormError
from service.pages.answers import go, page
from service.pages.once import once
from service.store import clinic_rules, lens_ranges, near_tables, people, visits
from service.views import correction_page
from service.wiring import wiring
from shared.optics.lens_range import BUILT_IN_RANGE, CURVE_LIMITS_MM, DIAMETER_LIMITS_MM
from shared.optics.near import NearTable
from shared.vocabulary import CorrectionKind, Laterality, SpectacleDesign

router = APIRouter()
DEFAULT_VERTEX_DISTANCE_MM = 12  # common practice as a starting value; the page asks for the measured one


@dataclass(frozen=True)
class _Known:
    """What the page rests on besides what is typed: the kinds this person may sign, and the clinic's ranges in force today."""

    child: Child
    visits: Sequence[Visit]
    visit: Visit
    allowed: frozenset[CorrectionKind]
    ranges: Sequence[EnteredRange]
    near_table: NearTable | None
    rules_off: frozenset[str]


def _known(session: Session, visitor: Visitor, child_id: str, visit_id: str, now: datetime) -> _Known:
    child = child_of(session, visitor.staff, child_id)
    allowed = frozenset(kind for kind, signed in actions.SIGNED_KIND.items() if people.may_sign(session, visitor.staff, signed))
    today = local_today(now, child.time_zone)
    ranges, near = lens_ranges.in_force(session, visitor.clinic.id, today), near_tables.in_force(session, visitor.clinic.id, today)
    return _Known(
        child,
        visits.visits(session, child),
        visits.visit(session, child, visit_id),
        allowed,
        ranges,
        near,
        clinic_rules.newest(session, visitor.clinic.id).limits.rules_off,
    )


@router.get("/children/{child_id}/visits/{visit_id}/correction")
def form_page(request: Request, visitor: SignedIn, child_id: str, visit_id: str) -> Response:
    with reading(wiring(request).engine) as session:
        known = _known(session, visitor, child_id, visit_id, wiring(request).clock.now())
    return _answer(request, visitor, visitor.form(**_first_values(known)), known)


def _first_values(known: _Known) -> dict[str, object]:
    """The order that suits what was measured: a lens where a trial lens was worn, for that eye alone, else spectacles; near by the rule for the age."""
    visit = known.visit
    lens = any(visit.eyes[eye].over_refraction for eye in Laterality)
    kind = CorrectionKind.CONTACT_LENS if lens else CorrectionKind.SPECTACLES
    values: dict[str, object] = {"kind": kind, "design": SpectacleDesign.SINGLE_VISION, "vertex_distance_mm": DEFAULT_VERTEX_DISTANCE_MM}
    for eye in Laterality:
        sources = actions.power_sources(visit.eyes[eye], kind)
        values[f"{eye}_source"] = sources[0] if sources and (not lens or visit.eyes[eye].over_refraction) else None
        near = actions.near_rule(known.child, visit, eye, known.near_table).value
        values[f"{eye}_near"] = f"{near.value:g}" if near else "0"
    return values


@router.post("/children/{child_id}/visits/{visit_id}/correction")
def work_out_or_sign(request: Request, visitor: SignedIn, form: StaffForm, child_id: str, visit_id: str) -> Response:
    w = wiring(request)
    now = w.clock.now()
    with reading(w.engine) as session:
        known = _known(session, visitor, child_id, visit_id, now)
    if form.raw("step") != "sign":
        return _answer(request, visitor, form, known)
    try:
        order = read_order(form, known.ranges, known.near_table)
        if order.kind not in known.allowed:
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
        return _answer(request, visitor, form, known)
    return go(address)


def read_order(form: Form, ranges: Sequence[EnteredRange], near_table: NearTable | None) -> actions.Order:
    kind = form.choice("kind", CorrectionKind)
    lens = kind is CorrectionKind.CONTACT_LENS
    eyes = {}
    for eye in Laterality:
        source = form.optional_choice(f"{eye}_source", actions.PowerSource)
        near = form.optional_number(f"{eye}_near", 0, 4, "D")
        height = form.optional_number(f"{eye}_segment_height_mm", 5, 40, "mm")
        curve = form.optional_number(f"{eye}_base_curve_mm", *CURVE_LIMITS_MM, "mm")
        diameter = form.optional_number(f"{eye}_diameter_mm", *DIAMETER_LIMITS_MM, "mm")
        if source:
            eyes[eye] = actions.EyeOrder(source, near or 0.0, height, curve if lens else None, diameter if lens else None)
    design = form.optional_choice("design", SpectacleDesign) or SpectacleDesign.SINGLE_VISION
    lens_range = BUILT_IN_RANGE
    if lens:
        with form.catching():
            lens_range = actions.chosen_range(ranges, form.raw("lens_range"))
    return actions.Order(kind, form.number("vertex_distance_mm", 0, 30, "mm"), eyes, design, lens_range, near_table)


def _answer(request: Request, visitor: Visitor, form: Form, known: _Known) -> Response:
    worked = None
    probe = form.probe()
    order = read_order(probe, known.ranges, known.near_table)
    if not probe.errors:
        with probe.catching():
            worked = actions.work_out(known.child, known.visit, order)
    form.take_errors(probe)
    if request.method == "GET":
        form.errors.clear()  # a first look is no mistake, even where this visit has nothing to work from
    ranges = [(r.public_id, r.lens_range.name) for r in known.ranges]
    view = correction_page.view(known.child, known.visits, known.visit, order, worked, ranges, order.kind in known.allowed, known.rules_off, visitor.words)
    return page(request, visitor, "clinic/correction.html", 422 if form.errors else 200, form=form, page=view)
