"""The family's own count of its patches, from which the service says when to ask for more. GET never records."""

from fastapi import APIRouter, Request
from fastapi.responses import Response

from schedules.care_facts import MOST_PATCHES, MOST_PATCHES_A_DAY
from service.access import PostedFields
from service.actions import care
from service.db import reading, writing
from service.errors import RefusedRequestError
from service.forms import Form, InvalidFormError
from service.pages.answers import go
from service.store import care_record, children, links, trail
from service.tokens import same, signature
from service.views.languages import words_of
from service.wiring import wiring

router = APIRouter()


@router.get("/family/{token}/patches")
def count_page(request: Request, token: str) -> Response:
    return _answer(request, token, _form(request, token, {}))


@router.post("/family/{token}/patches")
def say(request: Request, data: PostedFields, token: str) -> Response:
    w = wiring(request)
    form = _form(request, token, data)
    if not same(data.get("form_token", ""), form.form_token):
        raise RefusedRequestError
    patches = form.words.gettext("patches")
    left, a_day = form.whole("patches_left", 0, MOST_PATCHES, patches), form.whole("patches_a_day", 1, MOST_PATCHES_A_DAY, patches)
    try:
        form.check()
        with form.catching(), writing(w.engine) as session:
            subscription = links.subscription_of_page(session, token)
            key = form.deed_key("count-patches")
            if trail.claim(session, subscription.clinic_id, key, "count-patches", w.clock.now()) is None:
                child = children.child_by_id(session, subscription.child_id)
                trail.settle_claim(session, subscription.clinic_id, key, care.count_patches(session, subscription, child, left, a_day, w.clock.now()))
        form.check()
    except InvalidFormError:
        return _answer(request, token, form, 422)
    return go(f"/family/{token}")


def _form(request: Request, token: str, data: dict[str, str]) -> Form:
    w = wiring(request)
    with reading(w.engine) as session:
        speak = words_of(session, links.subscription_of_page(session, token))
    return Form.posted(speak, signature(w.settings.secret_key, "family-form", f"/family/{token}"), data)


def _answer(request: Request, token: str, form: Form, status: int = 200) -> Response:
    w = wiring(request)
    with reading(w.engine) as session:
        subscription = links.subscription_of_page(session, token)
        stock = care_record.record(session, children.child_by_id(session, subscription.child_id)).stock
    if stock and "patches_a_day" not in form.values:
        form.values["patches_a_day"] = str(stock.patches_a_day)
    context = {"form": form, "stock": stock, "base": f"/family/{token}", "label": subscription.label}
    answer = w.renderer.page(form.words, "caregiver/patches.html", context, status)
    answer.headers["Cache-Control"] = "no-store"
    return answer
