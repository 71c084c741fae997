"""The family's own page of its days: when the child wakes, sleeps and is away, and days off. The dose stays as it was signed."""

from dataclasses import dataclass

from fastapi import APIRouter, Request
from fastapi.responses import Response

from schedules.household import Household
from service.access import PostedFields
from service.day_text import FAMILY_FIELDS
from service.db import reading
from service.errors import RefusedRequestError
from service.facts import Subscription
from service.forms import Form
from service.i18n import Words, words
from service.pages.answers import go
from service.pages.routine_deed import first_values, page, take
from service.routine_forms import Asked, routine_of
from service.store import children, links, people
from service.tokens import same, signature
from service.views import case
from service.wiring import wiring

router = APIRouter()
PARTS = ("week", "day-off", "remove")  # the rest is the clinic's


@dataclass(frozen=True)
class _Family:
    """Whose link it is, and what is known of the child behind it."""

    subscription: Subscription
    c: case.Case
    asked: Asked
    words: Words
    base: str
    form_token: str


@router.get("/family/{token}/routine")
def routine_page(request: Request, token: str, noted: str = "") -> Response:
    family = _family(request, token)
    return _answer(request, family, Form(family.words, family.form_token, first_values(family.c, family.asked)), noted=noted)


@router.post("/family/{token}/routine")
def try_or_save(request: Request, data: PostedFields, token: str) -> Response:
    w, family = wiring(request), _family(request, token)
    if not same(data.get("form_token", ""), family.form_token) or data.get("part") not in PARTS:
        raise RefusedRequestError
    form = Form.posted(family.words, family.form_token, data)
    form.values.pop("tried_hours", None)
    if form.raw("part") != "week":
        form.values = first_values(family.c, family.asked) | form.values
    outcome = take(w.engine, family.c, form, family.asked, family.subscription, w.clock.now())
    if outcome.saved:
        return go(f"{family.base}/routine?noted=yes")
    if outcome.status == 409:
        family = _family(request, token)
    return _answer(request, family, form, outcome.shown if outcome.status == 200 else None, outcome.status)


def _family(request: Request, token: str) -> _Family:
    w = wiring(request)
    base = f"/family/{token}"
    with reading(w.engine) as session:
        subscription = links.subscription_of_page(session, token)
        c = case.load(session, children.child_by_id(session, subscription.child_id), w.clock.now())
        speak = words(people.clinic(session, subscription.clinic_id).locale)
    home = subscription.public_id if routine_of(c.household, subscription.public_id) else ""
    return _Family(subscription, c, Asked(home, FAMILY_FIELDS, c.today), speak, base, signature(w.settings.secret_key, "family-form", base))


def _answer(request: Request, family: _Family, form: Form, shown: Household | None = None, status: int = 200, noted: str = "") -> Response:
    found = page(family.c, family.asked, form, shown or family.c.household, f"{family.base}/routine", tried=shown is not None, words=family.words)
    context = {"page": found, "form": form, "base": family.base, "label": family.subscription.label, "noted": noted}
    answer = wiring(request).renderer.page(family.words, "caregiver/routine.html", context, status)
    answer.headers["Cache-Control"] = "no-store"
    return answer
