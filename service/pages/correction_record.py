"""What was signed: the history of a child's corrections, each document, and the check of what was made up by it."""

from fastapi import APIRouter, Request
from fastapi.responses import Response

from service.access import SignedIn, StaffForm, Visitor, child_of, require_recorder
from service.actions import lens_checks as actions
from service.db import reading, writing
from service.facts import SignedCorrection
from service.facts_of_lenses import Measurements
from service.forms import Form, InvalidFormError
from service.pages.answers import go, page
from service.pages.once import once
from service.store import lenses, signed
from service.views import case, correction_document, correction_history
from service.wiring import wiring
from shared.findings import msg
from shared.lens_range import CURVE_LIMITS_MM, DIAMETER_LIMITS_MM
from shared.refraction import CYLINDER_LIMIT, SPHERE_LIMITS
from shared.vocabulary import CorrectionKind

router = APIRouter()

# what may be measured: field -> (lowest, highest, unit); the first is needed where anything of an eye is given
SPECTACLE_FIELDS = {
    "sphere": (*SPHERE_LIMITS, "D"),
    "cylinder": (-CYLINDER_LIMIT, CYLINDER_LIMIT, "D"),
    "axis": (0.0, 180.0, "degrees"),
    "addition": (0.0, 6.0, "D"),
    "segment_height_mm": (5.0, 40.0, "mm"),
    "prism": (0.0, 20.0, "prism dioptres"),
}
LENS_FIELDS = {"power": (*SPHERE_LIMITS, "D"), "base_curve_mm": (*CURVE_LIMITS_MM, "mm"), "diameter_mm": (*DIAMETER_LIMITS_MM, "mm")}


@router.get("/children/{child_id}/corrections")
def history_page(request: Request, visitor: SignedIn, child_id: str, oldest: str = "") -> Response:
    w = wiring(request)
    with reading(w.engine) as session:
        c = case.load(session, child_of(session, visitor.staff, child_id), w.clock.now())
    return page(request, visitor, "clinic/correction_history.html", page=correction_history.view(c, bool(oldest), visitor.words))


@router.get("/children/{child_id}/corrections/{document_id}")
def document_page(request: Request, visitor: SignedIn, child_id: str, document_id: str) -> Response:
    return _answer(request, visitor, visitor.form(), child_id, document_id)


@router.post("/children/{child_id}/corrections/{document_id}")
def check(request: Request, visitor: SignedIn, form: StaffForm, child_id: str, document_id: str) -> Response:
    require_recorder(visitor.staff)
    w = wiring(request)
    now = w.clock.now()
    try:
        with form.catching(), writing(w.engine) as session:
            child = child_of(session, visitor.staff, child_id)
            document = signed.correction(session, child, document_id)
            measured = read_measured(form, document)
            form.check()

            def deed() -> str:
                actions.record(session, visitor.staff, child, document, measured, now)
                return f"/children/{child_id}/corrections/{document_id}#checks"

            address = once(session, visitor, form, f"check-lens-{document_id}", now, deed)
        form.check()
    except InvalidFormError:
        return _answer(request, visitor, form, child_id, document_id, 422)
    return go(address)


def read_measured(form: Form, document: SignedCorrection) -> Measurements:
    fields = LENS_FIELDS if document.kind is CorrectionKind.CONTACT_LENS else SPECTACLE_FIELDS
    needed = next(iter(fields))
    measured = {}
    for eye in document.eyes:
        read = {name: form.optional_number(f"{eye}_{name}", *limits) for name, limits in fields.items()}
        values = {name: value for name, value in read.items() if value is not None}
        if values and needed not in values:
            form.refuse(f"{eye}_{needed}", msg("The power is needed: nothing else is judged without it."))
        if values:
            measured[eye.value] = values
    if not measured:
        form.refuse(f"{document.eyes[0]}_{needed}", msg("Please give what was measured, for at least one eye."))
    return measured


def _answer(request: Request, visitor: Visitor, form: Form, child_id: str, document_id: str, status: int = 200) -> Response:
    w = wiring(request)
    with reading(w.engine) as session:
        child = child_of(session, visitor.staff, child_id)
        document = signed.correction(session, child, document_id)
        c = case.load(session, child, w.clock.now())
        checks = lenses.checks(session, child, document_id)
    return page(request, visitor, "clinic/correction_document.html", status, form=form, page=correction_document.view(c, document, checks, visitor.words))
