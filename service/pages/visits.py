"""Recording, showing and correcting a visit."""

from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import Response

from service.access import SignedIn, StaffForm, Visitor, child_of, require_recorder
from service.actions import visits as actions
from service.asked import EYE_GROUPS, VISIT_GROUPS, Asked, Group, asked
from service.clock import local_today
from service.db import reading, writing
from service.errors import ChangedMeanwhileError
from service.facts import AcuityReading, AcuityTest, Examination, EyeFindings, Visit, VisitFindings
from service.forms import Form, InvalidFormError
from service.pages.answers import go, page
from service.pages.once import once
from service.store import visits
from service.views import asked_page, visit_page
from service.wiring import wiring
from shared.acuity import read_acuity
from shared.findings import Quantity, Unit, msg
from shared.refraction import SpheroCylinder, keratometric_power
from shared.vocabulary import AcuityMethod, CorrectionWorn, FixationPreference, Laterality, Reliability, TestedEye

router = APIRouter()
TEMPLATE = "clinic/visit_form.html"
STEEPEST_RADIUS_MM = 20.0  # no cornea is as flat as this in mm, nor as weak in D


@router.get("/children/{child_id}/visits/new")
def form_page(request: Request, visitor: SignedIn, child_id: str) -> Response:
    require_recorder(visitor.staff)
    w = wiring(request)
    with reading(w.engine) as session:
        child = child_of(session, visitor.staff, child_id)
    form = visitor.form(on=local_today(w.clock.now(), child.time_zone))
    return page(request, visitor, TEMPLATE, form=form, child=child, visit=None, **_layout(visitor, form))


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
                return f"/children/{child_id}/visits/{actions.record(session, visitor.staff, child, examination, now, confirmed=form.ticked('as_typed'))}"

            address = once(session, visitor, form, "record-visit", now, deed)
        form.check()
    except InvalidFormError:
        return page(request, visitor, TEMPLATE, 422, form=form, child=child, visit=None, **_layout(visitor, form))
    except actions.AskFirstError as ask:
        asks = [visitor.words.text(q) for q in ask.questions]
        return page(request, visitor, TEMPLATE, 409, form=form, child=child, visit=None, **_layout(visitor, form) | {"asks": asks})
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
    form = visitor.form(**_typed(visit))
    return page(request, visitor, TEMPLATE, form=form, child=child, visit=visit, **_layout(visitor, form))


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
        return page(request, visitor, TEMPLATE, 422, form=form, child=child, visit=visit, **_layout(visitor, form))
    except ChangedMeanwhileError:
        form.refuse(
            "reason",
            msg(
                "%(who)s has corrected this visit meanwhile; nothing of theirs was overwritten. Please look at the visit and decide again.",
                who=visit.recorded_by,
            ),
        )
        form.values["version"] = str(visit.version)
        return page(request, visitor, TEMPLATE, 409, form=form, child=child, visit=visit, **_layout(visitor, form))
    return go(f"/children/{child_id}/visits/{visit_id}")


def _layout(visitor: Visitor, form: Form) -> dict[str, Any]:
    """The groups that the page folds away, and which of them stand open because they hold something."""
    filled = {name for name, value in form.values.items() if value}
    return {
        "asks": [],
        "second_open": any(name.startswith("second_") for name in filled),
        "eye_groups": {eye.value: [asked_page.group(visitor.words, g, f"{eye}_", filled) for g in EYE_GROUPS] for eye in Laterality},
        "visit_groups": [asked_page.group(visitor.words, g, "", filled) for g in VISIT_GROUPS],
    }


def _examination(form: Form) -> Examination:
    return Examination(
        on=form.day("on"),
        tests=tuple(test for name in actions.TEST_NAMES if (test := _test(form, name)) is not None),
        eyes={eye: _eye(form, eye) for eye in Laterality},
        together=VisitFindings(fixation_preference=form.optional_choice("fixation_preference", FixationPreference), **_noted(form, "", VISIT_GROUPS)),
    )


def _noted(form: Form, prefix: str, groups: tuple[Group, ...]) -> dict[str, Any]:
    """The findings of these groups; a field's name is its finding's, behind the eye's."""
    return {a.name: _noted_one(form, f"{prefix}{a.name}", a) for a in asked(groups)}


def _noted_one(form: Form, name: str, a: Asked) -> Any:
    if a.choices:
        return form.optional_choice(name, a.choices)
    if a.name in ("k1_dioptres", "k2_dioptres"):
        return _keratometry(form, name)
    return form.optional_number(name, a.low, a.high, a.unit)


def _test(form: Form, name: str) -> AcuityTest | None:
    """None where nothing was entered for any eye."""
    distance = form.optional_number(f"{name}_distance_cm", 10, 1000, "cm")
    letters = form.optional_number(f"{name}_letters_per_line", 1, 10, "letters")
    readings = {eye: reading for eye in TestedEye if (reading := _reading(form, f"{name}_{eye}", distance)) is not None}
    method = form.optional_choice(f"{name}_method", AcuityMethod)
    if not readings and not form.errors:
        return None
    return AcuityTest(
        method=method,
        readings=readings,
        distance_cm=distance,
        letters_per_line=None if letters is None else int(letters),
        patched_beforehand=form.ticked(f"{name}_patched_beforehand"),
        cycloplegia=form.ticked(f"{name}_cycloplegia"),
    )


def _reading(form: Form, prefix: str, distance_cm: float | None) -> AcuityReading | None:
    typed, not_testable = form.raw(f"{prefix}_acuity"), form.ticked(f"{prefix}_not_testable")
    acuity = None
    if typed:
        with form.catching(default=f"{prefix}_acuity"):
            acuity = read_acuity(typed, f"{prefix}_acuity", distance_cm)
    if not typed and not not_testable:
        return None
    worn = form.optional_choice(f"{prefix}_correction_worn", CorrectionWorn)
    return AcuityReading(acuity, not_testable, worn, form.optional_choice(f"{prefix}_reliability", Reliability))


def _eye(form: Form, eye: Laterality) -> EyeFindings:
    gross = form.raw(f"{eye}_refraction_kind") == "gross"
    distance = form.optional_number(f"{eye}_working_distance_cm", 20, 200, "cm")
    if gross and distance is None and form.raw(f"{eye}_refraction_sphere"):
        form.refuse(f"{eye}_working_distance_cm", msg("A gross refraction needs its working distance in cm."))
    return EyeFindings(
        eye=eye,
        refraction=_power(form, f"{eye}_refraction"),
        working_distance_cm=distance if gross else None,
        refraction_vertex_distance_mm=form.optional_number(f"{eye}_refraction_vertex_distance_mm", 0, 30, "mm"),
        trial_lens_dioptres=form.optional_number(f"{eye}_trial_lens_dioptres", -40, 50, "D"),
        over_refraction=_power(form, f"{eye}_over"),
        over_vertex_distance_mm=form.optional_number(f"{eye}_over_vertex_distance_mm", 0, 30, "mm"),
        **_noted(form, f"{eye}_", EYE_GROUPS),
    )


def _keratometry(form: Form, name: str) -> float | None:
    """In D; a radius in mm is caught by its size and its power named."""
    typed = form.optional_number(name, 5, 65, "D")
    if typed is None or typed >= STEEPEST_RADIUS_MM:
        return typed
    power = Quantity(keratometric_power(typed), Unit.DIOPTRE)
    form.refuse(name, msg("%(typed)s looks like a radius in mm; as a power it is %(power)s.", typed=f"{typed:g}", power=power))
    return None


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
    together = visit.together
    values: dict[str, Any] = {"on": visit.on, "fixation_preference": together.fixation_preference, "version": visit.version}
    values |= {a.name: getattr(together, a.name) for a in asked(VISIT_GROUPS)}
    for name, test in zip(actions.TEST_NAMES, visit.tests, strict=False):
        values |= {
            f"{name}_method": test.method,
            f"{name}_distance_cm": test.distance_cm,
            f"{name}_letters_per_line": test.letters_per_line,
            f"{name}_patched_beforehand": "yes" if test.patched_beforehand else None,
            f"{name}_cycloplegia": "yes" if test.cycloplegia else None,
        }
        for tested, r in test.readings.items():
            values |= {
                f"{name}_{tested}_acuity": r.acuity.typed if r.acuity else None,
                f"{name}_{tested}_not_testable": "yes" if r.not_testable else None,
                f"{name}_{tested}_correction_worn": r.correction_worn,
                f"{name}_{tested}_reliability": r.reliability,
            }
    for eye, f in visit.eyes.items():
        values |= {f"{eye}_{a.name}": getattr(f, a.name) for a in asked(EYE_GROUPS)}
        values |= {
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
