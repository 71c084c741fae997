"""In which language a link speaks, as the family chooses it. GET never records."""

from fastapi import APIRouter, Request
from fastapi.responses import Response

from schedules.feed_style import Language
from service.access import PostedFields
from service.actions import languages as actions
from service.db import reading, writing
from service.errors import RefusedRequestError
from service.forms import Form, InvalidFormError
from service.pages.answers import go
from service.store import children, links, people
from service.tokens import same, signature
from service.views.languages import offered, words_of
from service.wiring import wiring

router = APIRouter()


@router.get("/family/{token}/language")
def language_page(request: Request, token: str) -> Response:
    return _answer(request, token, _form(request, token, {}))


@router.post("/family/{token}/language")
def choose(request: Request, data: PostedFields, token: str) -> Response:
    w = wiring(request)
    form = _form(request, token, data)
    if not same(data.get("form_token", ""), form.form_token):
        raise RefusedRequestError
    language = form.choice("language", Language)
    try:
        form.check()
        with form.catching(), writing(w.engine) as session:
            link = links.subscription_of_page(session, token)
            actions.choose(session, link, children.child_by_id(session, link.child_id), language, w.clock.now())
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
        link = links.subscription_of_page(session, token)
        found = offered(session, people.clinic(session, link.clinic_id))
    form.values.setdefault("language", form.words.language)
    context = {"form": form, "base": f"/family/{token}", "label": link.label, "offered": found}
    answer = w.renderer.page(form.words, "caregiver/language.html", context, status)
    answer.headers["Cache-Control"] = "no-store"
    return answer
