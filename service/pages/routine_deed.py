"""Trying and saving what is told about a child's days: one way for the clinic's page and the family's."""

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Engine

from schedules.household import Household
from service.actions import routines as actions
from service.actions.regimens import whole_minutes
from service.db import writing
from service.errors import ChangedMeanwhileError
from service.facts import Staff, Subscription
from service.forms import Form
from service.i18n import Words
from service.routine_forms import Asked, changed, rotation_values, routine_of, week_values
from service.views import routine_page
from service.views.case import Case
from shared.findings import msg


@dataclass(frozen=True)
class Outcome:
    """What a form came to: saved, or shown again with a status."""

    saved: bool
    status: int
    shown: Household


def first_values(c: Case, asked: Asked) -> dict[str, str]:
    """The form as it stands before anything is typed."""
    routine = routine_of(c.household, asked.home) or c.household.routine
    newest = routine.weeks[-1] if routine.weeks else None
    return {"week_first_on": str(c.today), **week_values(newest, asked.fields), **rotation_values(c.household)}


def take(engine: Engine, c: Case, form: Form, asked: Asked, by: Staff | Subscription, now: datetime) -> Outcome:
    """Nothing is stored unless the form says so."""
    household = changed(form, c.household, asked)
    seen = form.raw("seen")
    if household is None:
        return Outcome(False, 422, c.household)
    with form.catching({"on": f"{form.raw('part') or 'week'}_first_on"}):
        if form.raw("step") == "try":
            actions.check_past(c.household, household, c.today)
            return Outcome(False, 200, household)
        try:
            with writing(engine) as session:
                actions.enter(session, c.child, household, int(seen) if seen.isdecimal() else 0, by, now)
        except ChangedMeanwhileError:
            form.refuse("week_first_on", msg("Somebody else has changed these days meanwhile. What you typed stands here: save again to replace theirs."))
            return Outcome(False, 409, c.household)
        return Outcome(True, 303, household)
    return Outcome(False, 422, c.household)


def page(c: Case, asked: Asked, form: Form, shown: Household, address: str, *, tried: bool, words: Words) -> routine_page.RoutinePage:
    """The week that is drawn begins on the day from which the form's days hold, and no sooner than today."""
    probe = form.probe()
    typed = probe.optional_day("week_first_on") if tried else None
    hours = probe.optional_number("tried_hours", 0, 16, "h")
    minutes = None if hours is None or probe.errors else whole_minutes(hours)
    return routine_page.view(c, asked, form, shown, max(c.today, typed or c.today), minutes, address, tried=tried, words=words)
