"""The clinic's care set: seen by everybody, kept by the administrator."""

from dataclasses import asdict
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import Response
from sqlmodel import Session

from schedules.care_sets import BUILT_IN_CARE_SET, MOST_LETTERS, RANGES, CareSet
from schedules.care_words import CareKind
from service.access import SignedIn, StaffForm, Visitor, require_administrator
from service.actions import care_sets as actions
from service.clock import local_today
from service.db import reading
from service.facts_of_home_care import EnteredCareSet
from service.forms import Form
from service.pages import versions
from service.pages.answers import page
from service.store import care_sets as store
from service.views import care_sets_page
from service.wiring import wiring
from shared.course.care_schedule import RefractionSchedule
from shared.findings import msg

router = APIRouter()
SCHEDULE_FIELDS = tuple(f"schedule_{n}" for n in range(1, len(RefractionSchedule) + 1))


@router.get("/care-sets")
def sets_page(request: Request, visitor: SignedIn) -> Response:
    return _answer(request, visitor, None)


@router.post("/care-sets")
def enter(request: Request, visitor: SignedIn, form: StaffForm) -> Response:
    require_administrator(visitor.staff)
    now, care_set, from_on, seen = wiring(request).clock.now(), _read(form), form.day("from_on"), form.raw("seen")

    def deed(session: Session) -> str:
        number = int(seen) if seen.isdecimal() else 0
        return actions.enter(session, visitor.staff, care_set, number, from_on, local_today(now, visitor.clinic.time_zone), now)

    return versions.take(request, visitor, form, "care-set", "from_on", "/care-sets", deed, lambda status: _answer(request, visitor, form, status))


def _read(form: Form) -> CareSet:
    """Every field is read, so that all that is amiss is shown at once."""
    counts: dict[str, Any] = {}
    for name, (low, high) in RANGES.items():
        value = form.number(name, low, high, form.words.gettext("months") if name.endswith("months") else form.words.gettext("days"))
        if value != int(value):
            form.refuse(name, msg("A whole number, please."))
        counts[name] = int(value)
    schedules = [s for field in SCHEDULE_FIELDS if (s := form.optional_choice(field, RefractionSchedule))]
    words = {kind: text for kind in CareKind if (text := form.optional_text(f"words-{kind}", longest=MOST_LETTERS))}
    off = frozenset(kind for kind in CareKind if not form.ticked(f"asked-{kind}"))
    if not form.errors:
        with form.catching({"refraction_schedules": SCHEDULE_FIELDS[0], "kinds_off": f"asked-{CareKind.PRESSURE_CHECK}"}):
            return CareSet(kinds_off=off, refraction_schedules=tuple(schedules), words=words, **counts)
    return BUILT_IN_CARE_SET


def _entered(request: Request, visitor: Visitor) -> list[EnteredCareSet]:
    with reading(wiring(request).engine) as session:
        return store.versions(session, visitor.clinic.id)


def _answer(request: Request, visitor: Visitor, form: Form | None, status: int = 200) -> Response:
    entered, today = _entered(request, visitor), local_today(wiring(request).clock.now(), visitor.clinic.time_zone)
    newest = entered[-1].care_set if entered else BUILT_IN_CARE_SET
    form = form or visitor.form(from_on=today, seen=len(entered), **_as_typed(newest))
    return page(request, visitor, "clinic/care_sets.html", status, form=form, page=care_sets_page.view(entered, today, visitor.words))


def _as_typed(s: CareSet) -> dict[str, object]:
    counts = {name: value for name, value in asdict(s).items() if name in RANGES}
    asked = {f"asked-{kind}": "yes" for kind in CareKind if kind not in s.kinds_off}
    words = {f"words-{kind}": text for kind, text in s.words.items()}
    return counts | dict(zip(SCHEDULE_FIELDS, s.refraction_schedules, strict=False)) | asked | words
