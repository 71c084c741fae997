"""A child's care beside patching, and what staff say of it."""

from collections.abc import Callable
from datetime import date, datetime, timedelta

from fastapi import APIRouter, Request
from fastapi.responses import Response
from sqlmodel import Session

from schedules.care_facts import LONGEST_DAYS_IN, LONGEST_DAYS_USED, MOST_PATCHES, MOST_PATCHES_A_DAY, MOST_TIMES_A_DAY
from schedules.care_sets import MOST_LETTERS
from schedules.care_words import CareKind
from service.access import SignedIn, StaffForm, Visitor, child_of
from service.actions import care as actions
from service.db import reading, writing
from service.errors import RefusedRequestError
from service.facts import Child, Staff
from service.facts_of_home_care import LensWear
from service.forms import Form, InvalidFormError
from service.pages.answers import go, page
from service.pages.once import once
from service.views import care_page, case
from service.wiring import wiring
from shared.findings import msg
from shared.lens_words import WearSchedule
from shared.vocabulary import Laterality

router = APIRouter()
Deed = Callable[[Session, Staff, Child, datetime], object]


@router.get("/children/{child_id}/care")
def care(request: Request, visitor: SignedIn, child_id: str) -> Response:
    return _answer(request, visitor, None, child_id)


@router.post("/children/{child_id}/care")
def say(request: Request, visitor: SignedIn, form: StaffForm, child_id: str) -> Response:
    w = wiring(request)
    now, (deed, names) = w.clock.now(), _STEPS.get(form.raw("step"), _unknown)(form)
    address = f"/children/{child_id}/care"
    try:
        form.check()
        with form.catching(names), writing(w.engine) as session:

            def done() -> str:
                deed(session, visitor.staff, child_of(session, visitor.staff, child_id), now)
                return address

            once(session, visitor, form, "care-entry", now, done)
        form.check()
    except InvalidFormError:
        return _answer(request, visitor, form, child_id, 422)
    return go(address)


def _answer(request: Request, visitor: Visitor, form: Form | None, child_id: str, status: int = 200) -> Response:
    w = wiring(request)
    with reading(w.engine) as session:
        c = case.load(session, child_of(session, visitor.staff, child_id), w.clock.now())
    return page(request, visitor, "clinic/care.html", status, form=form or visitor.form(start_on=c.today), page=care_page.view(c, visitor.words))


# What is done, and what the form calls the fields of the domain where they differ.
Read = tuple[Deed, dict[str, str]]


def _line(form: Form) -> Read:
    line = actions.NewLine(
        kind=form.choice("kind", CareKind),
        eye=form.optional_choice("eye", Laterality),
        start_on=form.day("start_on"),
        end_on=_day_after(form, "last_on"),
        times_a_day=form.whole("times_a_day", 1, MOST_TIMES_A_DAY, form.words.gettext("times")),
        words=form.text("words", longest=MOST_LETTERS),
    )
    return lambda session, staff, child, now: actions.enter_line(session, staff, child, line, now), {"end_on": "last_on"}


def _line_end(form: Form) -> Read:
    line, ends_on = form.whole("line", 1, 10**6, ""), form.day("ends_on")
    return lambda session, staff, child, now: actions.end_line(session, staff, child, line, ends_on, now), {"end_on": "ends_on"}


def _patches(form: Form) -> Read:
    left = form.whole("patches_left", 0, MOST_PATCHES, form.words.gettext("patches"))
    a_day = form.whole("patches_a_day", 1, MOST_PATCHES_A_DAY, form.words.gettext("patches"))
    return lambda session, staff, child, now: actions.count_patches(session, staff, child, left, a_day, now), {}


def _secondary_lens(form: Form) -> Read:
    eye, on = form.choice("implant_eye", Laterality), form.optional_day("implant_on")
    return lambda session, staff, child, now: actions.plan_secondary_lens(session, staff, child, eye, on, now), {"eye": "implant_eye", "on": "implant_on"}


def _lens_wear(form: Form) -> Read:
    correction_id, _, eye = form.raw("lens").rpartition(":")
    if eye not in list(Laterality):
        form.refuse("lens", msg("Please choose one."))
        eye = Laterality.RIGHT
    wear = LensWear(
        correction_id,
        Laterality(eye),
        form.choice("wear_schedule", WearSchedule),
        _days(form, "out_every_days", LONGEST_DAYS_IN),
        _days(form, "replace_every_days", LONGEST_DAYS_USED),
    )
    return lambda session, staff, child, now: actions.set_lens_wear(session, staff, child, wear, now), {}


def _unknown(_: Form) -> Read:
    raise RefusedRequestError


_STEPS: dict[str, Callable[[Form], Read]] = {
    "line": _line,
    "end-line": _line_end,
    "patches": _patches,
    "secondary-lens": _secondary_lens,
    "lens-wear": _lens_wear,
}


def _days(form: Form, name: str, most: int) -> int | None:
    return form.whole(name, 1, most, form.words.gettext("days")) if form.raw(name) else None


def _day_after(form: Form, name: str) -> date:
    """A sheet says the last day; spans end on the day after it."""
    return form.day(name) + timedelta(days=1)
