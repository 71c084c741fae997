"""Telling the clinic, from a caregiver's link: first the signs for which one calls. GET never records."""

from fastapi import APIRouter, Request
from fastapi.responses import Response

from service.access import PostedFields
from service.actions import tellings as actions
from service.db import reading, writing
from service.errors import RefusedRequestError
from service.facts_of_tellings import About
from service.forms import Form, InvalidFormError
from service.pages import kept
from service.pages.answers import go
from service.store import children, links, people, tellings
from service.tokens import same, signature
from service.views import case
from service.views import tellings as view
from service.views.languages import words_of
from service.wiring import wiring
from shared.vocabulary import Laterality

router = APIRouter()


@router.get("/family/{token}/tell")
def tell_page(request: Request, token: str, none: str = "", told: str = "") -> Response:
    return _answer(request, token, _form(request, token, {}), asked=none == "yes", just=told)


@router.post("/family/{token}/tell")
def tell(request: Request, data: PostedFields, token: str) -> Response:
    w = wiring(request)
    form, now = _form(request, token, data), w.clock.now()
    if not same(data.get("form_token", ""), form.form_token):
        raise RefusedRequestError
    about = form.choice("about", About)
    public_id = ""
    try:
        said = actions.Said(
            about=about,
            eye=form.optional_choice("eye", Laterality),
            text=form.long_text("text", longest=actions.LONGEST),
            no_signs=form.raw("no_signs") == "yes",
            client_key=form.deed_key("tell"),
            said_at=kept.device_time(request, form, "said_at", now),
        )
        form.check()
        with form.catching(), writing(w.engine) as session:
            subscription = links.subscription_of_page(session, token)
            public_id = actions.tell(session, subscription, children.child_by_id(session, subscription.child_id), said, now)
        form.check()
    except InvalidFormError:
        return kept.told(request, "refused", form) or _answer(request, token, form, asked=True, status=422)
    see = f"/family/{token}/signs?told=yes" if about is About.SIGNS else f"/family/{token}/tell?told={public_id}"
    return kept.told(request, "noted", form, see=see) or go(see)


def _form(request: Request, token: str, data: dict[str, str]) -> Form:
    w = wiring(request)
    with reading(w.engine) as session:
        speak = words_of(session, links.subscription_of_page(session, token))
    return Form.posted(speak, signature(w.settings.secret_key, "family-form", f"/family/{token}"), data)


def _answer(request: Request, token: str, form: Form, *, asked: bool, just: str = "", status: int = 200) -> Response:
    """`asked`: there is none of the signs, so what else is it?"""
    w = wiring(request)
    with reading(w.engine) as session:
        subscription = links.subscription_of_page(session, token)
        c = case.load(session, children.child_by_id(session, subscription.child_id), w.clock.now())
        told, clinic = tellings.of_link(session, subscription), people.clinic(session, subscription.clinic_id)
    shown = view.view(c, subscription, told, just, f"/family/{token}", form.words)
    answer = w.renderer.page(form.words, "caregiver/tell.html", {"page": shown, "form": form, "asked": asked, "clinic": clinic}, status)
    answer.headers["Cache-Control"] = "no-store"
    return answer
