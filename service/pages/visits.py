"""Recording, showing and correcting a visit."""

from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import Response

from service.access import SignedIn, StaffForm, child_of, require_recorder
from service.actions import visits as actions
from service.clock import local_today
from service.db import reading, writing
from service.errors import ChangedMeanwhileError
from service.facts import EyeFindings, Visit
from service.forms import Form, InvalidFormError
from service.pages.answers import go, page
from service.pages.once import once
from service.store import visits
from service.views import visit_page
from service.wiring import wiring
from shared.acuity import read_acuity
from shared.findings import msg
from shared.refraction import SpheroCylinder
from shared.vocabulary import AcuityMethod, CorrectionWorn, FixationPreference, Laterality, Reliability

router = APIRouter()
TEMPLATE = "clinic/visit_form.html"


@router.get("/children/{child_id}/visits/new")
def form_page(request: Request, visitor: SignedIn, child_id: str) -> Response:
    require_recorder(visitor.staff)
    w = wiring(request)
    with reading(w.engine) as session:
        child = child_of(session, visitor.staff, child_id)
    form = visitor.form(on=local_today(w.clock.now(), child.time_zone))
    return page(request, visitor, TEMPLATE, form=form, child=child, visit=None)


@router.post("/children/{child_id}/visits/new")
def record(request: Request, visitor: SignedIn, form: StaffForm, child_id: str) -> Response:
    require_recorder(visitor.staff)
    w = wiring(request)
    now = w.clock.now()
    with reading(w.engine) as session:
        child = child_of(session, visitor.staff, child_id)
    try:
        examination = _examination(form)
        form.check()
        with form.catching(), writing(w.engine) as session:
            child = child_of(session, visitor.staff, child_id)

            def deed() -> str:
                return f"/children/{child_id}/visits/{actions.record(session, visitor.staff, child, examination, now)}"

            address = once(session, visitor, form, "record-visit", now, deed)
        form.check()
    except InvalidFormError:
        return page(request, visitor, TEMPLATE, 422, form=form, child=child, visit=None)
    return go(address)


@router.get("/children/{child_id}/visits/{visit_id}")
def show(request: Request, visitor: SignedIn, child_id: str, visit_id: str) -> Response:
    with reading(wiring(request).engine) as session:
        child = child_of(session, visitor.staff, child_id)
        view = visit_page.view(child, visits.visits(session, child), visits.visit(session, child, visit_id), visitor.words)
    return page(request, visitor, "clinic/visit.html", page=view)


@router.get("/children/{child_id}/visits/{visit_id}/correct")
def correction_page(request: Request, visitor: SignedIn, child_id: str, visit_id: str) -> Response:
    require_recorder(visitor.staff)
    with reading(wiring(request).engine) as session:
        child = child_of(session, visitor.staff, child_id)
        visit = visits.visit(session, child, visit_id)
    return page(request, visitor, TEMPLATE, form=visitor.form(**_typed(visit)), child=child, visit=visit)


@router.post("/children/{child_id}/visits/{visit_id}/correct")
def correct(request: Request, visitor: SignedIn, form: StaffForm, child_id: str, visit_id: str) -> Response:
    require_recorder(visitor.staff)
    w = wiring(request)
    with reading(w.engine) as session:
        child = child_of(session, visitor.staff, child_id)
        visit = visits.visit(session, child, visit_id)
    try:
        reason = form.text("reason", longest=200)
        version = int(form.number("version", 1, 10**9, ""))
        examination = _examination(form)
        form.check()
        with form.catching(), writing(w.engine) as session:
            child = child_of(session, visitor.staff, child_id)
            actions.correct(session, visitor.staff, child, visit_id, version, reason, examination, w.clock.now())
        form.check()
    except InvalidFormError:
        return page(request, visitor, TEMPLATE, 422, form=form, child=child, visit=visit)
    except ChangedMeanwhileError:
        form.refuse(
            "reason",
            msg(
                "%(who)s has corrected this visit meanwhile; nothing of theirs was overwritten. Please look at the visit and decide again.",
                who=visit.recorded_by,
            ),
        )
        form.values["version"] = str(visit.version)
        return page(request, visitor, TEMPLATE, 409, form=form, child=child, visit=visit)
    return go(f"/children/{child_id}/visits/{visit_id}")


def _examination(form: Form) -> actions.Examination:
    return actions.Examination(
        on=form.day("on"),
        eyes={eye: _eye(form, eye) for eye in Laterality},
        fixation_preference=form.optional_choice("fixation_preference", FixationPreference),
    )


def _eye(form: Form, eye: Laterality) -> EyeFindings:
    acuity = None
    if form.raw(f"{eye}_acuity"):
        with form.catching(default=f"{eye}_acuity"):
            acuity = read_acuity(form.raw(f"{eye}_acuity"))
    gross = form.raw(f"{eye}_refraction_kind") == "gross"
    distance = form.optional_number(f"{eye}_working_distance_cm", 20, 200, "cm")
    if gross and distance is None and form.raw(f"{eye}_refraction_sphere"):
        form.refuse(f"{eye}_working_distance_cm", msg("A gross refraction needs its working distance in cm."))
    return EyeFindings(
        eye=eye,
        acuity=acuity,
        acuity_method=form.optional_choice(f"{eye}_acuity_method", AcuityMethod),
        not_testable=form.ticked(f"{eye}_not_testable"),
        correction_worn=form.optional_choice(f"{eye}_correction_worn", CorrectionWorn),
        reliability=form.optional_choice(f"{eye}_reliability", Reliability),
        refraction=_power(form, f"{eye}_refraction"),
        working_distance_cm=distance if gross else None,
        refraction_vertex_distance_mm=form.optional_number(f"{eye}_refraction_vertex_distance_mm", 0, 30, "mm"),
        trial_lens_dioptres=form.optional_number(f"{eye}_trial_lens_dioptres", -40, 50, "D"),
        over_refraction=_power(form, f"{eye}_over"),
        over_vertex_distance_mm=form.optional_number(f"{eye}_over_vertex_distance_mm", 0, 30, "mm"),
    )


def _power(form: Form, prefix: str) -> SpheroCylinder | None:
    sphere = form.optional_number(f"{prefix}_sphere", -40, 50, "D")
    cylinder = form.optional_number(f"{prefix}_cylinder", -15, 15, "D")
    axis = form.optional_number(f"{prefix}_axis", 0, 180, "°")
    if sphere is None:
        if cylinder is not None or axis is not None:
            form.refuse(f"{prefix}_sphere", msg("A cylinder needs its sphere; write 0 for plano."))
        return None
    with form.catching({name: f"{prefix}_{name}" for name in ("sphere", "cylinder", "axis")}):
        return SpheroCylinder(sphere, cylinder or 0.0, axis)
    return None


def _typed(visit: Visit) -> dict[str, Any]:
    """A stored visit as it would have been typed."""
    values: dict[str, Any] = {"on": visit.on, "fixation_preference": visit.fixation_preference, "version": visit.version}
    for eye, f in visit.eyes.items():
        values |= {
            f"{eye}_acuity": f.acuity.typed if f.acuity else None,
            f"{eye}_acuity_method": f.acuity_method,
            f"{eye}_not_testable": "yes" if f.not_testable else None,
            f"{eye}_correction_worn": f.correction_worn,
            f"{eye}_reliability": f.reliability,
            f"{eye}_refraction_kind": "gross" if f.working_distance_cm else "net",
            f"{eye}_working_distance_cm": f.working_distance_cm,
            f"{eye}_refraction_vertex_distance_mm": f.refraction_vertex_distance_mm,
            f"{eye}_trial_lens_dioptres": f.trial_lens_dioptres,
            f"{eye}_over_vertex_distance_mm": f.over_vertex_distance_mm,
        }
        for prefix, power in ((f"{eye}_refraction", f.refraction), (f"{eye}_over", f.over_refraction)):
            if power:
                values |= {f"{prefix}_sphere": power.sphere, f"{prefix}_cylinder": power.cylinder or None, f"{prefix}_axis": power.axis}
    return values
