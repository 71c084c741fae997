"""Caseload, registration and particulars."""

from zoneinfo import available_timezones

from fastapi import APIRouter, Request
from fastapi.responses import Response

from service.access import SignedIn, StaffForm, Visitor, child_of, require_registrar
from service.actions import children as actions
from service.actions.children import LONGEST_LANGUAGE
from service.db import reading, writing
from service.errors import ChangedMeanwhileError
from service.facts import Child
from service.forms import Form, InvalidFormError
from service.pages.answers import go, page
from service.pages.once import once
from service.views import caseload, child_page
from service.wiring import wiring
from shared.findings import msg
from shared.vocabulary import Aetiology, AmblyopicEye, Laterality, OpticalStatus

router = APIRouter()
ZONES = sorted(z for z in available_timezones() if "/" in z and not z.startswith(("Etc/", "SystemV/")))


@router.get("/")
def caseload_page(request: Request, visitor: SignedIn, after: str = "") -> Response:
    w = wiring(request)
    with reading(w.engine) as session:
        view = caseload.view(session, visitor.staff, visitor.clinic, visitor.words, after, w.clock.now())
    return page(request, visitor, "clinic/caseload.html", page=view)


@router.get("/children/new")
def registration_page(request: Request, visitor: SignedIn) -> Response:
    require_registrar(visitor.staff)
    form = visitor.form(time_zone=visitor.clinic.time_zone, weeks_premature=0, right_status="phakic", left_status="phakic")
    return _registration(request, visitor, form)


@router.post("/children/new")
def register(request: Request, visitor: SignedIn, form: StaffForm) -> Response:
    require_registrar(visitor.staff)
    w = wiring(request)
    now = w.clock.now()
    try:
        particulars = _particulars(form)
        form.check()
        with form.catching(), writing(w.engine) as session:
            address = once(
                session,
                visitor,
                form,
                "register-child",
                now,
                lambda: f"/children/{actions.register(session, visitor.staff, particulars, now).public_id}",
            )
        form.check()
    except InvalidFormError:
        return _registration(request, visitor, form, 422)
    return go(address)


def _particulars(form: Form) -> actions.Particulars:
    return actions.Particulars(
        reference=form.text("reference", longest=30),
        short_name=form.text("short_name", longest=40),
        born_on=form.day("born_on"),
        weeks_premature=int(form.number("weeks_premature", 0, 18, "weeks")),
        time_zone=form.text("time_zone"),
        aetiology=form.choice("aetiology", Aetiology),
        amblyopic_eye=form.choice("amblyopic_eye", AmblyopicEye),
        statuses={eye: (form.choice(f"{eye}_status", OpticalStatus), form.optional_day(f"{eye}_surgery_on")) for eye in Laterality},
        spoken_language=form.optional_text("spoken_language", longest=LONGEST_LANGUAGE),
        interpreter_needed=form.ticked("interpreter_needed"),
    )


def _registration(request: Request, visitor: Visitor, form: Form, status: int = 200) -> Response:
    return page(request, visitor, "clinic/register.html", status, form=form, zones=ZONES)


@router.get("/children/{child_id}")
def show_child(request: Request, visitor: SignedIn, child_id: str) -> Response:
    w = wiring(request)
    with reading(w.engine) as session:
        view = child_page.view(session, child_of(session, visitor.staff, child_id), visitor.words, w.clock.now())
    return page(request, visitor, "clinic/child.html", page=view, signed=request.query_params.get("signed") == "yes")


@router.get("/children/{child_id}/particulars")
def particulars_page(request: Request, visitor: SignedIn, child_id: str) -> Response:
    require_registrar(visitor.staff)
    with reading(wiring(request).engine) as session:
        child = child_of(session, visitor.staff, child_id)
    form = visitor.form(
        version=child.version,
        short_name=child.short_name,
        weeks_premature=child.weeks_premature,
        time_zone=child.time_zone,
        aetiology=child.aetiology,
        amblyopic_eye=child.amblyopic_eye,
        spoken_language=child.spoken_language,
        interpreter_needed="yes" if child.interpreter_needed else "",
    )
    return page(request, visitor, "clinic/particulars.html", form=form, child=child, zones=ZONES)


@router.post("/children/{child_id}/particulars")
def change_particulars(request: Request, visitor: SignedIn, form: StaffForm, child_id: str) -> Response:
    require_registrar(visitor.staff)
    w = wiring(request)
    with reading(w.engine) as session:
        child = child_of(session, visitor.staff, child_id)
    try:
        changed = _changed(form, child, visitor.may_record)
        form.check()
        with form.catching(), writing(w.engine) as session:
            actions.change(session, visitor.staff, child_of(session, visitor.staff, child_id), changed, w.clock.now())
        form.check()
    except InvalidFormError:
        return page(request, visitor, "clinic/particulars.html", 422, form=form, child=child, zones=ZONES)
    except ChangedMeanwhileError:
        with reading(w.engine) as session:
            child = child_of(session, visitor.staff, child_id)
        form.refuse(
            "short_name",
            msg("Somebody else has changed this child meanwhile; nothing of theirs was overwritten. Stored now: %(stored)s.", stored=_stored(visitor, child)),
        )
        form.values["version"] = str(child.version)
        return page(request, visitor, "clinic/particulars.html", 409, form=form, child=child, zones=ZONES)
    return go(f"/children/{child.public_id}")


def _changed(form: Form, child: Child, clinical: bool) -> actions.ChangedParticulars:
    """Whoever does not examine is not asked for what a dose is worked out from."""
    return actions.ChangedParticulars(
        version=int(form.number("version", 1, 10**9, "")),
        short_name=form.text("short_name", longest=40),
        weeks_premature=int(form.number("weeks_premature", 0, 18, "weeks")) if clinical else child.weeks_premature,
        time_zone=form.text("time_zone"),
        aetiology=form.choice("aetiology", Aetiology) if clinical else child.aetiology,
        amblyopic_eye=form.choice("amblyopic_eye", AmblyopicEye) if clinical else child.amblyopic_eye,
        spoken_language=form.optional_text("spoken_language", longest=LONGEST_LANGUAGE),
        interpreter_needed=form.ticked("interpreter_needed"),
    )


def _stored(visitor: Visitor, child: Child) -> str:
    return ", ".join((child.short_name, visitor.words.label(child.aetiology), visitor.words.label(child.amblyopic_eye), child.time_zone))
