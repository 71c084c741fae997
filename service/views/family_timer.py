"""The timer on the day's page: running since when, what it asks, and the next time the plan has set."""

from dataclasses import dataclass
from datetime import datetime

from service.actions.timers import TimerFacts, read
from service.facts import Timer
from service.i18n import Words
from service.views.case import Case
from service.views.planned import clock_span, planned_day
from shared.errors import ClinicalInputError
from shared.findings import msg


@dataclass(frozen=True)
class TimerShown:
    """`until` is what is proposed where it ran longer than is believed, by the clock of the day's zone; `nap` what is asked about, or ""."""

    key: str
    started_at: datetime
    since: str
    ran: str
    ran_too_long: bool
    until: str
    nap: str


def shown(c: Case, timer: Timer, now: datetime, words: Words) -> TimerShown:
    facts = TimerFacts(c.child, c.revisions, c.household)
    zone = facts.day_of(timer.started_at).zone

    def clock(at: datetime) -> str:
        return f"{at.astimezone(zone):%H:%M}"

    try:
        found = read(facts, timer.started_at, now)
    except ClinicalInputError:  # the plan was stopped meanwhile
        found = None
    nap = ", ".join(f"{clock(a)}–{clock(b)}" for a, b in found.naps) if found else ""
    return TimerShown(
        key=timer.client_key,
        started_at=timer.started_at,
        since=clock(timer.started_at),
        ran=_ran(timer.started_at, now, words),
        ran_too_long=found is not None and found.ran_too_long,
        until=clock(found.believed_until) if found and found.ran_too_long else "",
        nap=nap,
    )


def _ran(started_at: datetime, now: datetime, words: Words) -> str:
    hours, minutes = divmod((now - started_at).seconds // 60 + (now - started_at).days * 24 * 60, 60)
    return words.text(msg("%(hours)s h %(minutes)s min", hours=str(hours), minutes=f"{minutes:02d}"))


def next_session(c: Case, now: datetime) -> str:
    """The first of today's sessions that is not over."""
    return next((clock_span(s) for s in planned_day(c, c.today).sessions if s.end_at > now), "")
