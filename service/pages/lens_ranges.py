"""The clinic's own lens ranges: seen by everybody, kept by administrator and optometrist."""

from collections.abc import Callable
from datetime import date

from fastapi import APIRouter, Request
from fastapi.responses import Response
from sqlmodel import Session

from service.access import SignedIn, StaffForm, Visitor, require_range_keeper
from service.actions import lens_ranges as actions
from service.clock import local_today
from service.db import reading
from service.facts_of_lenses import EnteredRange
from service.forms import Form
from service.pages.answers import page
from service.pages.versions import take
from service.store import lens_ranges as store
from service.views import lens_ranges_page
from service.wiring import wiring
from shared.lens_words import LensMaterial, WearSchedule
from shared.optics.lens_range import BUILT_IN_RANGE, LensRange, Span, read_millimetres, read_spans, shown_millimetres, shown_spans
from shared.vocabulary import Status

router = APIRouter()


@router.get("/lens-ranges")
def ranges_page(request: Request, visitor: SignedIn) -> Response:
    with reading(wiring(request).engine) as session:
        entered = store.ranges(session, visitor.clinic.id)
    return page(request, visitor, "clinic/lens_ranges.html", page=lens_ranges_page.view(entered, _today(request, visitor), visitor.words))


@router.get("/lens-ranges/new")
def new_page(request: Request, visitor: SignedIn) -> Response:
    require_range_keeper(visitor.staff)
    return _form(request, visitor, visitor.form(from_on=_today(request, visitor)), None)


@router.post("/lens-ranges/new")
def enter(request: Request, visitor: SignedIn, form: StaffForm) -> Response:
    require_range_keeper(visitor.staff)
    now, today = wiring(request).clock.now(), _today(request, visitor)
    lens_range, from_on = _read(form, form.text("name", longest=60)), form.day("from_on")
    return _take(request, visitor, form, None, "from_on", lambda session: actions.enter(session, visitor.staff, lens_range, from_on, today, now))


@router.get("/lens-ranges/{range_id}")
def change_page(request: Request, visitor: SignedIn, range_id: str) -> Response:
    require_range_keeper(visitor.staff)
    seen, today = _seen(request, visitor, range_id), _today(request, visitor)
    r = seen.lens_range
    form = visitor.form(
        powers=shown_spans(r.spans),
        base_curves_mm=shown_millimetres(r.base_curves_mm),
        diameters_mm=shown_millimetres(r.diameters_mm),
        material=r.material,
        wear_schedule=r.wear_schedule,
        from_on=today,
        ends_on=today,
    )
    return _form(request, visitor, form, seen)


@router.post("/lens-ranges/{range_id}")
def change_or_end(request: Request, visitor: SignedIn, form: StaffForm, range_id: str) -> Response:
    require_range_keeper(visitor.staff)
    seen, today, now = _seen(request, visitor, range_id), _today(request, visitor), wiring(request).clock.now()
    if form.raw("step") == "end":
        ends_on = form.day("ends_on")
        return _take(request, visitor, form, seen, "ends_on", lambda session: actions.end(session, visitor.staff, seen, ends_on, today, now))
    lens_range, from_on = _read(form, seen.lens_range.name), form.day("from_on")
    return _take(request, visitor, form, seen, "from_on", lambda session: actions.change(session, visitor.staff, seen, lens_range, from_on, today, now))


def _take(request: Request, visitor: Visitor, form: Form, seen: EnteredRange | None, day: str, deed: Callable[[Session], object]) -> Response:
    action = f"lens-range-{seen.public_id if seen else 'new'}"
    return take(request, visitor, form, action, day, "/lens-ranges", deed, lambda status: _form(request, visitor, form, seen, status))


def _read(form: Form, name: str) -> LensRange:
    """Every field is read, so that all that is amiss is shown at once."""
    spans: tuple[Span, ...] = ()
    sizes: dict[str, tuple[float, ...]] = {"base_curves_mm": (), "diameters_mm": ()}
    with form.catching():
        spans = read_spans(form.text("powers", longest=300))
    for field in sizes:
        with form.catching():
            sizes[field] = read_millimetres(form.optional_text(field, longest=300), field)
    material, wear = form.optional_choice("material", LensMaterial), form.optional_choice("wear_schedule", WearSchedule)
    with form.catching():
        return LensRange(name, spans, Status.COMMON_PRACTICE, **sizes, material=material, wear_schedule=wear)
    return BUILT_IN_RANGE


def _today(request: Request, visitor: Visitor) -> date:
    return local_today(wiring(request).clock.now(), visitor.clinic.time_zone)


def _seen(request: Request, visitor: Visitor, range_id: str) -> EnteredRange:
    with reading(wiring(request).engine) as session:
        return store.one(session, visitor.clinic.id, range_id)


def _form(request: Request, visitor: Visitor, form: Form, seen: EnteredRange | None, status: int = 200) -> Response:
    return page(request, visitor, "clinic/lens_range.html", status, form=form, seen=seen)
