"""One way in for a caregiver: the page's link or a calendar entry's. Both share every rule behind it."""

from collections.abc import Callable
from dataclasses import replace
from datetime import date, datetime, timedelta

from fastapi import Request
from fastapi.responses import Response
from sqlmodel import Session

from schedules.local_time import instant
from service import times_typed
from service.actions import timers, wear
from service.clock import local_today
from service.db import reading, writing
from service.errors import NotFoundError, RefusedRequestError
from service.facts import Child, Subscription
from service.forms import Form, InvalidFormError, day_or_none
from service.pages import kept
from service.pages.answers import go
from service.store import children, signed
from service.tokens import same, signature
from service.views import case, family
from service.views.languages import words_of
from service.wiring import Wiring, wiring
from shared.findings import Message, msg

ASKED = msg("Something is noted for this day already. Is this more, or instead of it?")
TAKEN_BACK = msg("This was noted before and taken back. Please look at the day as it is now, and note it again.")
_YES = {"yes": True, "no": False}


class Door:
    def __init__(self, request: Request, base: str, find: Callable[[Session], Subscription], only: date | None = None) -> None:
        self._request, self._base, self._find, self._only = request, base, find, only
        self._w: Wiring = wiring(request)
        self._now = self._w.clock.now()
        self._form_token = signature(self._w.settings.secret_key, "family-form", base)
        with reading(self._w.engine) as session:
            subscription = find(session)
            child = children.child_by_id(session, subscription.child_id)
            self._time_zone = child.time_zone
            self._words = words_of(session, subscription)
        if only is not None and local_today(self._now, child.time_zone) > only + timedelta(days=wear.DAYS_BACK):
            raise NotFoundError

    def show(
        self,
        *,
        day: str = "",
        noted: str = "",
        form: Form | None = None,
        tapped: wear.Said | None = None,
        status: int = 200,
    ) -> Response:
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
            return self._told("refused", form) or self.show(day=form.raw("on"), form=form, tapped=said if worn_unanswered else None, status=422)
        except wear.TakenBackError:
            stale = Form(self._words, self._form_token, dict(form.values))
            stale.refuse("on", TAKEN_BACK)
            return self._told("refused", stale) or self.show(day=form.raw("on"), form=stale, status=409)
        except wear.AddOrCorrectError:
            return self._told("ask", form, ASKED) or self.show(day=form.raw("on"), form=form, tapped=said, status=409)
        return self._noted(form, self._address(said.on, "yes"))

    def undo(self, data: dict[str, str]) -> Response:
        form = self._form(data)
        on = form.day("on")
        with form.catching(), writing(self._w.engine) as session:
            subscription = self._find(session)
            child = children.child_by_id(session, subscription.child_id)
            on = wear.undo(session, wear.caregiver(subscription), child, form.raw("entry"), form.deed_key("undo"), self._now, only=self._only)
        if form.errors:
            return self._told("refused", form) or self.show(day=form.raw("on"), form=form, status=422)
        return self._noted(form, self._address(on, "undone"))

    def timer(self, data: dict[str, str]) -> Response:
        """Start, stop or throw away; the day's page asks what is open."""
        form = self._form(data)
        step, key = form.raw("step"), form.raw("timer_key") or form.submission_key
        on: date | None = None
        try:
            self._hear_of_start(form, step, key)
            with form.catching(), writing(self._w.engine) as session:
                subscription = self._find(session)
                child = children.child_by_id(session, subscription.child_id)
                if step == "discard":
                    timers.discard(session, subscription, child, key, self._now)
                else:
                    on = self._timed(session, subscription, child, form, step, key)
            form.check()
        except InvalidFormError:
            asks = any(name in form.errors for name in ("until", "naps_off", "correction_worn"))
            return self._told("ask" if asks else "refused", form) or self.show(form=form, status=422)
        except wear.AddOrCorrectError:
            form.refuse("more", ASKED)
            return self._told("ask", form, ASKED) or self.show(form=form, status=409)
        except NotFoundError:
            form.refuse("timer", msg("This timer was stopped already, or never reached the clinic. Please note the time yourself."))
            return self._told("refused", form) or self.show(form=form, status=409)
        return self._noted(form, self._base if on is None else self._address(on, "yes"))

    def _hear_of_start(self, form: Form, step: str, key: str) -> None:
        """A start that the device kept is there before its stop is looked at, so that what the stop leaves open can be asked on the page."""
        if step == "discard":
            return
        started_at = self._device_time(form, "started_at", needed=True)
        form.check()
        if step != "start" and started_at is not None:
            with form.catching(), writing(self._w.engine) as session:
                subscription = self._find(session)
                child = children.child_by_id(session, subscription.child_id)
                c = case.load(session, child, self._now)
                timers.hear(session, subscription, timers.TimerFacts(child, c.revisions, c.household), key, started_at, self._now)
            form.check()

    def _timed(self, session: Session, subscription: Subscription, child: Child, form: Form, step: str, key: str) -> date | None:
        """The date a stop was noted for; None after a start."""
        c = case.load(session, child, self._now)
        facts = timers.TimerFacts(child, c.revisions, c.household)
        if step == "start":
            timers.start(session, subscription, facts, key, self._device_time(form, "started_at") or self._now, self._now)
            return None
        tapped_at = self._device_time(form, "tapped_at", needed=True)
        form.values["tapped_at"] = tapped_at.isoformat() if tapped_at else ""
        form.check()
        stopped = timers.Stopped(
            timer_key=key,
            tapped_at=tapped_at,
            until=None,
            correction_worn=_YES.get(form.raw("correction_worn")),
            naps_off=_YES.get(form.raw("naps_off")),
            more={"add": True, "correct": False}.get(form.raw("more")),
            said_at=self._device_time(form, "said_at"),
        )
        if form.raw("until"):
            resolved = facts.day_of(timers.running(session, subscription, key).started_at)
            minutes = times_typed.time(form, "until")
            form.check()
            stopped = replace(stopped, until=instant(resolved.on, minutes, resolved.zone))
        return timers.stop(session, subscription, facts, stopped, self._now)

    def _noted(self, form: Form, see: str) -> Response:
        return kept.told(self._request, "noted", form, see=see) or go(see)

    def _told(self, state: str, form: Form, message: Message | None = None) -> Response | None:
        return kept.told(self._request, state, form, message)

    def _device_time(self, form: Form, name: str, *, needed: bool = False) -> datetime | None:
        return kept.device_time(self._request, form, name, self._now, needed=needed)

    def _form(self, data: dict[str, str]) -> Form:
        if not same(data.get("form_token", ""), self._form_token):
            raise RefusedRequestError
        return Form.posted(self._words, self._form_token, data)

    def _said(self, form: Form) -> wear.Said:
        key, said_at = form.deed_key("wear"), self._device_time(form, "said_at", needed=not form.raw("on"))
        on = self._only or self._day(form, said_at)
        how = form.choice("how", wear.How)
        field = {wear.How.ALL: "minutes_shown", wear.How.SOME: "minutes"}.get(how)  # all of it is what the page showed, be the plan another by now
        minutes = form.optional_number(field, 1, wear.MINUTES_OF_A_DAY, self._words.gettext("minutes")) if field else None
        if minutes is not None and minutes != int(minutes):
            form.refuse("minutes", msg("Whole minutes, please: one and a half hours are 90."))
        return wear.Said(
            on=on,
            how=how,
            minutes=None if minutes is None else int(minutes),
            reason=form.optional_choice("reason", wear.NotWornReason) if how is wear.How.NONE else None,
            correction_worn=_YES.get(form.raw("correction_worn")),
            client_key=key,
            more={"add": True, "correct": False}.get(form.raw("more")),
            said_at=said_at,
        )

    def _day(self, form: Form, said_at: datetime | None) -> date:
        """Where none is named, the one on which it was said: a page that a phone keeps may be older than the day it is used on."""
        if form.raw("on") or not form.raw("said_at"):
            return form.day("on")
        on = local_today(said_at or self._now, self._time_zone)
        form.values["on"] = on.isoformat()
        return on

    def _address(self, on: date, noted: str) -> str:
        return f"{self._base}?noted={noted}" if self._only else f"{self._base}?day={on.isoformat()}&noted={noted}"
