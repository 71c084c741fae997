"""A family's days as the clinic enters them: tried first, then saved; sessions move with them, the dose never does."""

from collections.abc import Callable
from typing import NamedTuple

from fastapi import APIRouter, Request
from fastapi.responses import Response

from schedules.day import MIDNIGHT_MINUTES, Weekday
from schedules.household import Household
from schedules.household_changes import check_change
from service import household_typed as typed
from service.access import SignedIn, StaffForm, Visitor, child_of
from service.actions import households as actions
from service.actions.households import Change
from service.day_typed import FIELDS
from service.db import reading, writing
from service.errors import ChangedMeanwhileError, RefusedRequestError
from service.forms import Form, InvalidFormError
from service.pages.answers import go, page
from service.pages.once import once
from service.store import households
from service.views import case, household_page, household_versions
from service.wiring import wiring
from shared.findings import msg

router = APIRouter()
VERSIONS_A_PAGE = 20
MEANWHILE = msg("Somebody else has changed these days meanwhile; nothing of theirs was overwritten. Open the page anew to see them.")


class Read(NamedTuple):
    """A change as it was typed, and what the form calls the fields of the domain."""

    change: Change
    names: dict[str, str]


def _days(form: Form, c: case.Case) -> Read:
    return Read(typed.clinic_days(form, form.raw("home") or None), FIELDS)


def _unknown(form: Form, c: case.Case) -> Read:
    raise RefusedRequestError


_STEPS: dict[str, Callable[[Form, case.Case], Read]] = {
    "days": _days,
    "off": lambda form, _: Read(typed.day_off(form), typed.OFF_FIELDS),
    "journey": lambda form, _: Read(typed.journey(form), typed.JOURNEY_FIELDS),
    "rotation": lambda form, _: Read(typed.rotation(form), typed.ROTATION_FIELDS),
    "swap": lambda form, _: Read(typed.swap(form), typed.SWAP_FIELDS),
    "remove": lambda form, c: Read(typed.removal(form, c.today), {}),
}


@router.get("/children/{child_id}/household")
def form_page(request: Request, visitor: SignedIn, child_id: str, weekday: str = "", home: str = "", day: str = "") -> Response:
    c = _case(request, visitor, child_id)
    form = visitor.form(**household_page.first_values(c, home or None, weekday_named(weekday)), seen=c.told.number if c.told else 0)
    form.values |= {"anchor_on": str(c.today), "shown_on": day}
    return _answer(request, visitor, form, c)


@router.get("/children/{child_id}/household/versions")
def versions_page(request: Request, visitor: SignedIn, child_id: str, before: str = "") -> Response:
    w = wiring(request)
    end = int(before) if before.isascii() and before.isdecimal() and len(before) < 9 else None
    with reading(w.engine) as session:
        child = child_of(session, visitor.staff, child_id)
        c = case.load(session, child, w.clock.now())
        found = households.last_before(session, child, end, VERSIONS_A_PAGE + 1)
    held, shown = (found[0].household, found[1:]) if len(found) > VERSIONS_A_PAGE else (households.untold(child), found)
    return page(request, visitor, "clinic/household_versions.html", page=household_versions.view(c, held, shown, visitor.words))


@router.post("/children/{child_id}/household")
def say(request: Request, visitor: SignedIn, form: StaffForm, child_id: str) -> Response:
    w = wiring(request)
    c = _case(request, visitor, child_id)
    step = form.raw("step")
    if step == "try":
        return _answer(request, visitor, form, c, _days(form, c))
    change, names = _STEPS.get(step, _unknown)(form, c)
    address = f"/children/{child_id}/household"
    try:
        form.check()
        with form.catching(names), writing(w.engine) as session:

            def done() -> str:
                actions.enter(session, visitor.staff, child_of(session, visitor.staff, child_id), seen_of(form), change, w.clock.now())
                return address

            there = once(session, visitor, form, "tell-household", w.clock.now(), done)
        form.check()
    except InvalidFormError:
        return _answer(request, visitor, form, c, status=422)
    except ChangedMeanwhileError:
        form.refuse("seen", MEANWHILE)
        return _answer(request, visitor, form, c, status=409)
    return go(there)


def _case(request: Request, visitor: Visitor, child_id: str) -> case.Case:
    w = wiring(request)
    with reading(w.engine) as session:
        return case.load(session, child_of(session, visitor.staff, child_id), w.clock.now())


def _answer(request: Request, visitor: Visitor, form: Form, c: case.Case, tried: Read | None = None, status: int = 200) -> Response:
    """With the week as it would be, where somebody tries one."""
    household, shown_on = c.household, form.probe().optional_day("shown_on")
    minutes = tried_minutes(form)
    if tried and (found := tried_household(form, c, tried)):
        household, shown_on = found, form.day("from_on")
    view = household_page.view(c, household, form.raw("home") or None, shown_on, minutes, visitor.words, tried=household is not c.household)
    return page(request, visitor, "clinic/household.html", 422 if form.errors and status == 200 else status, form=form, page=view)


def tried_household(form: Form, c: case.Case, tried: Read) -> Household | None:
    """The household as it would be; None where something in it cannot be, which then stands beside its field."""
    if not form.errors:
        with form.catching(tried.names):
            household = tried.change(c.household)
            check_change(c.household, household, c.today)
            return household
    return None


def seen_of(form: Form) -> int:
    """The version that the page showed."""
    seen = form.raw("seen")
    if not seen.isdecimal():
        raise RefusedRequestError
    return int(seen)


def weekday_named(typed_weekday: str) -> Weekday | None:
    return next((w for w in Weekday if str(w.value) == typed_weekday), None)


def tried_minutes(form: Form) -> int | None:
    """A dose to try in place of the signed one."""
    if not form.raw("tried_minutes"):
        return None
    return form.whole("tried_minutes", 0, MIDNIGHT_MINUTES, form.words.gettext("minutes"))
