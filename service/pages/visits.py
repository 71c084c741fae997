"""Recording, showing and correcting a visit."""

from collections.abc import Sequence
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import Response

from service.access import SignedIn, StaffForm, Visitor, as_typed, child_of, require_recorder
from service.actions import visits as actions
from service.asked import EYE_GROUPS, VISIT_GROUPS
from service.clock import local_today
from service.db import reading, writing
from service.errors import AskFirstError, ChangedMeanwhileError
from service.facts import Child
from service.facts_of_visits import Visit
from service.forms import Form, InvalidFormError
from service.pages import visit_form
from service.pages.answers import go, page
from service.pages.once import once
from service.store import clinic_rules, people, visits
from service.views import asked_page, case, growth_page, measurements_page, visit_page, visit_versions
from service.wiring import wiring
from shared.findings import msg
from shared.vocabulary import Laterality

router = APIRouter()


@router.get("/children/{child_id}/measurements")
def measurements(request: Request, visitor: SignedIn, child_id: str) -> Response:
    w = wiring(request)
    with reading(w.engine) as session:
        known = case.load(session, child_of(session, visitor.staff, child_id), w.clock.now())
    return page(request, visitor, "clinic/measurements.html", page=measurements_page.view(known, visitor.words))


@router.get("/children/{child_id}/growth")
def growth(request: Request, visitor: SignedIn, child_id: str) -> Response:
    w = wiring(request)
    with reading(w.engine) as session:
        known = case.load(session, child_of(session, visitor.staff, child_id), w.clock.now())
    return page(request, visitor, "clinic/growth.html", page=growth_page.view(known, visitor.words))


@router.get("/children/{child_id}/visits/new")
def form_page(request: Request, visitor: SignedIn, child_id: str) -> Response:
    require_recorder(visitor.staff)
    w = wiring(request)
    with reading(w.engine) as session:
        child = child_of(session, visitor.staff, child_id)
    form = visitor.form(on=local_today(w.clock.now(), child.time_zone), tester=visitor.staff.name)
    return _shown(request, visitor, child, None, form)


@router.post("/children/{child_id}/visits/new")
def record(request: Request, visitor: SignedIn, form: StaffForm, child_id: str) -> Response:
    require_recorder(visitor.staff)
    w = wiring(request)
    now = w.clock.now()
    with reading(w.engine) as session:
        child = child_of(session, visitor.staff, child_id)
    try:
        examination = visit_form.examination(form)
        form.check()
        noticed = visit_form.unsigned_powers(form)
        with form.catching(), writing(w.engine) as session:
            child = child_of(session, visitor.staff, child_id)

            def deed() -> str:
                made = actions.record(session, visitor.staff, child, examination, now, noticed=noticed, answered=form.raw("as_typed"))
                return f"/children/{child_id}/visits/{made}"

            address = once(session, visitor, form, "record-visit", now, deed)
        form.check()
    except InvalidFormError:
        return _shown(request, visitor, child, None, form, 422)
    except AskFirstError as ask:
        return _shown(request, visitor, child, None, form, 409, ask=ask)
    return go(address)


@router.get("/children/{child_id}/visits/{visit_id}")
def show(request: Request, visitor: SignedIn, child_id: str, visit_id: str) -> Response:
    with reading(wiring(request).engine) as session:
        child = child_of(session, visitor.staff, child_id)
        off = clinic_rules.newest(session, visitor.staff.clinic_id).limits.rules_off
        view = visit_page.view(child, visits.visits(session, child), visits.versions(session, child, visit_id), off, visitor.words)
    return page(request, visitor, "clinic/visit.html", page=view)


@router.get("/children/{child_id}/visits/{visit_id}/correct")
def correction_page(request: Request, visitor: SignedIn, child_id: str, visit_id: str) -> Response:
    require_recorder(visitor.staff)
    with reading(wiring(request).engine) as session:
        child = child_of(session, visitor.staff, child_id)
        visit = visits.visit(session, child, visit_id)
    return _shown(request, visitor, child, visit, visitor.form(**visit_form.typed(visit)))


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
        examination = visit_form.examination(form)
        form.check()
        noticed = visit_form.unsigned_powers(form)
        with form.catching(), writing(w.engine) as session:
            child = child_of(session, visitor.staff, child_id)
            actions.correct(
                session, visitor.staff, child, visit_id, version, reason, examination, w.clock.now(), noticed=noticed, answered=form.raw("as_typed")
            )
        form.check()
    except InvalidFormError:
        return _shown(request, visitor, child, visit, form, 422)
    except AskFirstError as ask:
        return _shown(request, visitor, child, visit, form, 409, ask=ask)
    except ChangedMeanwhileError:
        with reading(w.engine) as session:
            versions = visits.versions(session, child, visit_id)
        return _shown(request, visitor, child, versions[-1], form, 409, meanwhile=_meanwhile(form, versions, version))
    return go(f"/children/{child_id}/visits/{visit_id}")


def _meanwhile(form: Form, versions: Sequence[Visit], seen: int) -> tuple[visit_versions.Changed, ...]:
    """What others have changed since the version that this form was filled from; it goes on from theirs, with what was typed into it kept."""
    newest = versions[-1]
    stood = next((v for v in versions if v.version == seen), newest)
    before, now = ({name: as_typed(value) for name, value in visit_form.typed(v).items()} for v in (stood, newest))
    for name in {**before, **now}:
        if form.raw(name) == before.get(name, ""):
            form.values[name] = now.get(name, "")
    form.refuse(
        "reason",
        msg(
            "%(who)s has corrected this visit meanwhile; nothing of theirs was overwritten. What you changed stands below: "
            "saving again puts it in the place of theirs.",
            who=newest.recorded_by,
        ),
    )
    return visit_versions.changes(stood, newest, form.words)


def _shown(
    request: Request,
    visitor: Visitor,
    child: Child,
    visit: Visit | None,
    form: Form,
    status: int = 200,
    *,
    ask: AskFirstError | None = None,
    meanwhile: Sequence[visit_versions.Changed] = (),
) -> Response:
    """The form; `visit` is the one that is corrected. Of the groups that it folds away those stand open that hold something."""
    w = wiring(request)
    with reading(w.engine) as session:
        examiners = people.examiners(session, child.clinic_id)
    filled = {name for name, value in form.values.items() if value}
    layout: dict[str, Any] = {
        "asked": [visitor.words.text(q) for q in ask.questions] if ask else [],
        "asked_key": ask.key if ask else "",
        "meanwhile": meanwhile,
        "examiners": examiners,
        "tested_in_order": visit_form.tested_in_order(form, child, local_today(w.clock.now(), child.time_zone)),
        "second_open": any(name.startswith("second_") for name in filled),
        "eye_groups": {eye.value: [asked_page.group(visitor.words, g, f"{eye}_", filled) for g in EYE_GROUPS] for eye in Laterality},
        "visit_groups": [asked_page.group(visitor.words, g, "", filled) for g in VISIT_GROUPS],
    }
    return page(request, visitor, "clinic/visit_form.html", status, form=form, child=child, visit=visit, **layout)
