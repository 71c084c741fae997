"""The caregiver's pages: what is planned today, and saying what was worn. GET never records."""

from collections.abc import Callable
from datetime import date, timedelta

from fastapi import APIRouter, Request
from fastapi.responses import Response
from sqlmodel import Session

from service.access import PostedFields
from service.actions import wear
from service.clock import local_today
from service.db import reading, writing
from service.errors import NotFoundError, RefusedRequestError
from service.facts import Subscription
from service.forms import Form, InvalidFormError, day_or_none
from service.i18n import words
from service.pages.answers import go
from service.store import children, links, people, signed
from service.tokens import day_signature, same, signature
from service.views import case, family, home_sheet
from service.wiring import Wiring, wiring
from shared.findings import msg

router = APIRouter()


@router.get("/family/{token}")
def today_page(request: Request, token: str, day: str = "", noted: str = "") -> Response:
    return _Door(request, f"/family/{token}", lambda session: links.subscription_of_page(session, token)).show(day=day, noted=noted)


@router.post("/family/{token}/wear")
def say(request: Request, data: PostedFields, token: str) -> Response:
    return _Door(request, f"/family/{token}", lambda session: links.subscription_of_page(session, token)).say(data)


@router.post("/family/{token}/undo")
def undo(request: Request, data: PostedFields, token: str) -> Response:
    return _Door(request, f"/family/{token}", lambda session: links.subscription_of_page(session, token)).undo(data)


@router.get("/family/{token}/sheet")
def sheet_page(request: Request, token: str, first: str = "", paper: str = "", pictures: str = "") -> Response:
    w = wiring(request)
    with reading(w.engine) as session:
        subscription = links.subscription_of_page(session, token)
        c = case.load(session, children.child_by_id(session, subscription.child_id), w.clock.now())
        clinic = people.clinic(session, subscription.clinic_id)
    speak = words(clinic.locale)
    shown = home_sheet.view(
        c,
        clinic,
        speak,
        label=subscription.label,
        base=f"/family/{token}",
        from_on=day_or_none(first),
        paper=home_sheet.paper_named(paper),
        pictures=bool(pictures),
    )
    answer = w.renderer.page(speak, "caregiver/sheet.html", {"page": shown, "visitor": None})
    answer.headers["Cache-Control"] = "no-store"
    return answer


@router.get("/day/{link_id}/{day}/{sign}")
def day_page(request: Request, link_id: str, day: str, sign: str, noted: str = "") -> Response:
    return _day_door(request, link_id, day, sign).show(day=day, noted=noted)


@router.post("/day/{link_id}/{day}/{sign}/wear")
def say_day(request: Request, data: PostedFields, link_id: str, day: str, sign: str) -> Response:
    return _day_door(request, link_id, day, sign).say(data)


@router.post("/day/{link_id}/{day}/{sign}/undo")
def undo_day(request: Request, data: PostedFields, link_id: str, day: str, sign: str) -> Response:
    return _day_door(request, link_id, day, sign).undo(data)


def _day_door(request: Request, link_id: str, day: str, sign: str) -> "_Door":
    """A calendar entry's link: one day, until seven days after it; every other address answers as if it were not there."""
    w = wiring(request)
    try:
        on = date.fromisoformat(day)
    except ValueError:
        raise NotFoundError from None
    if not same(sign, day_signature(w.settings.secret_key, link_id, on)):
        raise NotFoundError
    return _Door(request, f"/day/{link_id}/{day}/{sign}", lambda session: links.subscription_by_public_id(session, link_id), only=on)


class _Door:
    """One way in for a caregiver; both kinds of link share every rule behind it."""

    def __init__(self, request: Request, base: str, find: Callable[[Session], Subscription], only: date | None = None) -> None:
        self._request, self._base, self._find, self._only = request, base, find, only
        self._w: Wiring = wiring(request)
        self._now = self._w.clock.now()
        self._form_token = signature(self._w.settings.secret_key, "family-form", base)
        with reading(self._w.engine) as session:
            subscription = find(session)
            child = children.child_by_id(session, subscription.child_id)
            self._words = words(people.clinic(session, subscription.clinic_id).locale)
        if only is not None and local_today(self._now, child.time_zone) > only + timedelta(days=wear.DAYS_BACK):
            raise NotFoundError

    def show(self, *, day: str = "", noted: str = "", form: Form | None = None, tapped: wear.Said | None = None, status: int = 200) -> Response:
        """`tapped` is taken but for one answer: the page repeats it, and asks that alone."""
        form = form or Form(self._words, self._form_token)
        with reading(self._w.engine) as session:
            view = family.view(session, self._find(session), self._words, self._now, self._base, self._only or day_or_none(day), only=self._only, tapped=tapped)
        context = {"page": view, "form": form, "noted": noted}
        answer = self._w.renderer.page(self._words, "caregiver/day.html", context, status)
        answer.headers["Cache-Control"] = "no-store"
        return answer

    def say(self, data: dict[str, str]) -> Response:
        form = self._form(data)
        said = self._said(form)
        try:
            form.check()
            with form.catching(), writing(self._w.engine) as session:
                subscription = self._find(session)
                child = children.child_by_id(session, subscription.child_id)
                wear.say(session, wear.caregiver(subscription), child, signed.revisions(signed.regimens(session, child)), said, self._now)
            form.check()
        except InvalidFormError:
            worn_unanswered = "correction_worn" in form.errors and said.how is not wear.How.CORRECTION_ONLY
            return self.show(day=form.raw("on"), form=form, tapped=said if worn_unanswered else None, status=422)
        except wear.TakenBackError:
            stale = Form(self._words, self._form_token, dict(form.values))
            stale.refuse("on", msg("This was noted before and taken back. Please look at the day as it is now, and note it again."))
            return self.show(day=form.raw("on"), form=stale, status=409)
        except wear.AddOrCorrectError:
            return self.show(day=form.raw("on"), form=form, tapped=said, status=409)
        return go(self._address(said.on, "yes"))

    def undo(self, data: dict[str, str]) -> Response:
        form = self._form(data)
        on = form.day("on")
        with form.catching(), writing(self._w.engine) as session:
            subscription = self._find(session)
            child = children.child_by_id(session, subscription.child_id)
            on = wear.undo(session, wear.caregiver(subscription), child, form.raw("entry"), form.deed_key("undo"), self._now, only=self._only)
        if form.errors:
            return self.show(day=form.raw("on"), form=form, status=422)
        return go(self._address(on, "undone"))

    def _form(self, data: dict[str, str]) -> Form:
        if not same(data.get("form_token", ""), self._form_token):
            raise RefusedRequestError
        return Form.posted(self._words, self._form_token, data)

    def _said(self, form: Form) -> wear.Said:
        on = self._only or form.day("on")
        how = form.choice("how", wear.How)
        worn = {"yes": True, "no": False}.get(form.raw("correction_worn"))
        minutes = form.optional_number("minutes", 1, wear.MINUTES_OF_A_DAY, self._words.gettext("minutes")) if how is wear.How.SOME else None
        if minutes is not None and minutes != int(minutes):
            form.refuse("minutes", msg("Whole minutes, please: one and a half hours are 90."))
        return wear.Said(
            on=on,
            how=how,
            minutes=None if minutes is None else int(minutes),
            reason=form.optional_choice("reason", wear.NotWornReason) if how is wear.How.NONE else None,
            correction_worn=worn,
            client_key=form.deed_key("wear"),
            more={"add": True, "correct": False}.get(form.raw("more")),
        )

    def _address(self, on: date, noted: str) -> str:
        return f"{self._base}?noted={noted}" if self._only else f"{self._base}?day={on.isoformat()}&noted={noted}"
