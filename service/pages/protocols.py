"""The clinic's own protocols: seen by everybody, kept by the administrator."""

from collections.abc import Callable
from datetime import date

from fastapi import APIRouter, Request
from fastapi.responses import Response
from sqlmodel import Session

from service.access import SignedIn, StaffForm, Visitor, require_administrator
from service.actions import clinic_protocols as actions
from service.actions.regimens import whole_minutes
from service.clock import local_today
from service.db import reading
from service.facts_of_protocols import EnteredProtocol
from service.forms import Form
from service.pages.answers import page
from service.pages.versions import take
from service.store import clinic_protocols as store
from service.views import protocols_page
from service.wiring import wiring
from shared.findings import msg
from shared.sight.severity import Severity
from shared.treatment.clinic_protocol import LONGEST_REVIEW_WEEKS, OLDEST_MONTHS, ClinicProtocol
from shared.treatment.protocol_words import BandSet, Pattern
from shared.vocabulary import Aetiology

router = APIRouter()
_FIELDS = {"minutes": "hours"}


@router.get("/protocols")
def protocols(request: Request, visitor: SignedIn) -> Response:
    with reading(wiring(request).engine) as session:
        entered = store.protocols(session, visitor.clinic.id)
    return page(request, visitor, "clinic/protocols.html", protocols=protocols_page.view(entered, _today(request, visitor), visitor.words))


@router.get("/protocols/new")
def new_page(request: Request, visitor: SignedIn) -> Response:
    require_administrator(visitor.staff)
    return _form(request, visitor, visitor.form(from_on=_today(request, visitor), pattern=Pattern.DAILY), None)


@router.post("/protocols/new")
def enter(request: Request, visitor: SignedIn, form: StaffForm) -> Response:
    require_administrator(visitor.staff)
    now, today = wiring(request).clock.now(), _today(request, visitor)
    protocol, from_on = _read(form, form.text("name", longest=60)), form.day("from_on")
    return _take(request, visitor, form, None, "from_on", lambda session: actions.enter(session, visitor.staff, _whole(protocol), from_on, today, now))


@router.get("/protocols/{protocol_id}")
def change_page(request: Request, visitor: SignedIn, protocol_id: str) -> Response:
    require_administrator(visitor.staff)
    seen, today = _seen(request, visitor, protocol_id), _today(request, visitor)
    p = seen.protocol
    typed = {name: value for name, value in vars(p).items() if name != "minutes"}
    form = visitor.form(**typed, hours=None if p.minutes is None else p.minutes / 60, from_on=today, ends_on=today)
    return _form(request, visitor, form, seen)


@router.post("/protocols/{protocol_id}")
def change_or_end(request: Request, visitor: SignedIn, form: StaffForm, protocol_id: str) -> Response:
    require_administrator(visitor.staff)
    seen, today, now = _seen(request, visitor, protocol_id), _today(request, visitor), wiring(request).clock.now()
    if form.raw("step") == "end":
        ends_on = form.day("ends_on")
        return _take(request, visitor, form, seen, "ends_on", lambda session: actions.end(session, visitor.staff, seen, ends_on, today, now))
    protocol, from_on = _read(form, seen.protocol.name), form.day("from_on")
    return _take(request, visitor, form, seen, "from_on", lambda session: actions.change(session, visitor.staff, seen, _whole(protocol), from_on, today, now))


def _take(request: Request, visitor: Visitor, form: Form, seen: EnteredProtocol | None, day: str, deed: Callable[[Session], object]) -> Response:
    action = f"protocol-{seen.public_id if seen else 'new'}"
    return take(request, visitor, form, action, day, "/protocols", deed, lambda status: _form(request, visitor, form, seen, status))


def _read(form: Form, name: str) -> ClinicProtocol | None:
    """Every field is read, so that all that is amiss is shown at once; None where something is."""
    hours, percent = form.optional_number("hours", 0, 16, "h"), form.optional_number("waking_percent", 0, 100, "%")
    from_month, below_month = (form.number(field, 0, OLDEST_MONTHS, "months") for field in ("from_month", "below_month"))
    weeks = form.number("review_weeks", 1, LONGEST_REVIEW_WEEKS, "weeks")
    for field, value in (("waking_percent", percent), ("from_month", from_month), ("below_month", below_month), ("review_weeks", weeks)):
        if value is not None and value != int(value):
            form.refuse(field, msg("A whole number, please."))
    author, reference, near_work = form.text("author", longest=120), form.text("reference", longest=300), form.optional_text("near_work", longest=300)
    aetiology, band_set = form.optional_choice("aetiology", Aetiology), form.optional_choice("band_set", BandSet)
    severity, pattern = form.optional_choice("severity", Severity), form.choice("pattern", Pattern)
    if form.errors:
        return None
    with form.catching(_FIELDS):
        return ClinicProtocol(
            name=name,
            author=author,
            reference=reference,
            aetiology=aetiology,
            from_month=int(from_month),
            below_month=int(below_month),
            band_set=band_set,
            severity=severity,
            minutes=None if hours is None else whole_minutes(hours),
            waking_percent=None if percent is None else int(percent),
            pattern=pattern,
            review_weeks=int(weeks),
            near_work=near_work,
        )
    return None


def _whole(protocol: ClinicProtocol | None) -> ClinicProtocol:
    """Asked only once the form was found to be without errors."""
    assert protocol is not None
    return protocol


def _today(request: Request, visitor: Visitor) -> date:
    return local_today(wiring(request).clock.now(), visitor.clinic.time_zone)


def _seen(request: Request, visitor: Visitor, protocol_id: str) -> EnteredProtocol:
    with reading(wiring(request).engine) as session:
        return store.one(session, visitor.clinic.id, protocol_id)


def _form(request: Request, visitor: Visitor, form: Form, seen: EnteredProtocol | None, status: int = 200) -> Response:
    return page(request, visitor, "clinic/protocol.html", status, form=form, seen=seen)
