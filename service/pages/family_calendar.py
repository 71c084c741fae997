"""How a person's calendar shows the plan: their own choice, on the page of their own link."""

from fastapi import APIRouter, Request
from fastapi.responses import Response
from sqlmodel import Session

from schedules.feed import FeedStyle, Wish
from service.access import PostedFields, as_typed
from service.actions import calendar as actions
from service.db import reading, writing
from service.errors import RefusedRequestError
from service.facts import Child, Subscription
from service.forms import Form, InvalidFormError
from service.i18n import Words, words
from service.pages.answers import go
from service.store import children, links, people
from service.tokens import same, signature
from service.wiring import wiring

router = APIRouter()


@router.get("/family/{token}/calendar")
def calendar_page(request: Request, token: str, saved: str = "") -> Response:
    subscription, _, speak = _known(request, token)
    hour = None if subscription.alarm_minutes is None else subscription.alarm_minutes // 60
    values = {
        "label": subscription.label,
        "style": subscription.style,
        "alarm_hour": hour,
        "session_alarm_minutes": subscription.session_alarm_minutes,
        "care": "yes" if subscription.shows_care else "",
        "visits": "yes" if subscription.shows_visits else "",
        "done": "yes" if subscription.shows_done else "",
    }
    return _answer(request, token, Form(speak, _form_token(request, token), {name: as_typed(value) for name, value in values.items()}), saved=saved)


@router.post("/family/{token}/calendar")
def save(request: Request, data: PostedFields, token: str) -> Response:
    w = wiring(request)
    _, _, speak = _known(request, token)
    if not same(data.get("form_token", ""), _form_token(request, token)):
        raise RefusedRequestError
    form = Form.posted(speak, _form_token(request, token), data)
    try:
        label, style = form.text("label", longest=30), form.choice("style", FeedStyle)
        hour = form.optional_number("alarm_hour", 0, 23, speak.gettext("o'clock"))
        before = form.optional_number("session_alarm_minutes", 0, actions.MOST_MINUTES_BEFORE, speak.gettext("minutes"))
        form.check()
        wish = Wish(label, style, None if hour is None else int(hour) * 60, None if before is None else int(before))
        with form.catching(), writing(w.engine) as session:
            subscription, child = _subscription(session, token)
            shown = {name: form.ticked(name) for name in ("care", "visits", "done")}
            actions.wish(session, subscription, child, wish, w.clock.now(), **shown)
        form.check()
    except InvalidFormError:
        return _answer(request, token, form, 422)
    return go(f"/family/{token}/calendar?saved=yes")


def _subscription(session: Session, token: str) -> tuple[Subscription, Child]:
    subscription = links.subscription_of_page(session, token)
    return subscription, children.child_by_id(session, subscription.child_id)


def _known(request: Request, token: str) -> tuple[Subscription, Child, Words]:
    with reading(wiring(request).engine) as session:
        subscription, child = _subscription(session, token)
        return subscription, child, words(people.clinic(session, subscription.clinic_id).locale)


def _form_token(request: Request, token: str) -> str:
    return signature(wiring(request).settings.secret_key, "family-calendar", token)


def _answer(request: Request, token: str, form: Form, status: int = 200, saved: str = "") -> Response:
    context = {"form": form, "base": f"/family/{token}", "saved": saved == "yes"}
    answer = wiring(request).renderer.page(form.words, "caregiver/calendar.html", context, status)
    answer.headers["Cache-Control"] = "no-store"
    return answer
