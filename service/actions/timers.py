"""A caregiver's timer: started, stopped with an entry of wear, or thrown away. What it measured is asked about where it cannot be believed."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from sqlmodel import Session

from schedules.adherence import counted, whole_minutes
from schedules.day import clock
from schedules.household import Household
from schedules.regimen import Regimen
from schedules.routine import ResolvedDay
from schedules.timing import Span, believed_until, less, naps_within
from service.actions.wear import DAYS_BACK, WERE_THEY_ON, AddOrCorrectError, audit, caregiver, open_days, regimen_of, replace_all
from service.clock import local_today
from service.errors import NotFoundError
from service.facts import Child, Subscription, Timer
from service.store import children, timers, wear
from shared.errors import ClinicalInputError
from shared.findings import msg

_DAY = timedelta(days=1)


@dataclass(frozen=True)
class TimerFacts:
    """What a timer is read against."""

    child: Child
    revisions: Sequence[Regimen]
    household: Household

    def day_of(self, at: datetime) -> ResolvedDay:
        """The date in the child's zone."""
        return self.household.resolve(local_today(at, self.child.time_zone))


@dataclass(frozen=True)
class Stopped:
    """`timer_key` is the device's. `until` is what somebody answered; else it ended when it was tapped (None: now), as far as that is believed."""

    timer_key: str
    tapped_at: datetime | None
    until: datetime | None
    correction_worn: bool | None
    naps_off: bool | None
    more: bool | None = None
    said_at: datetime | None = None


@dataclass(frozen=True)
class Reading:
    """A timer against its day: whether it ran longer than is believed, until when it is, and the naps up to then."""

    ran_too_long: bool
    believed_until: datetime
    naps: tuple[Span, ...]


def read(facts: TimerFacts, started_at: datetime, until: datetime) -> Reading:
    resolved = facts.day_of(started_at)
    regimen = regimen_of(facts.revisions, resolved.on, (resolved.on,))
    believed = believed_until(started_at, regimen.minutes_on(resolved.on), resolved)
    return Reading(until > believed, believed, naps_within((started_at, min(until, believed)), resolved))


def start(session: Session, by: Subscription, facts: TimerFacts, timer_key: str, started_at: datetime, now: datetime) -> Timer:
    """The one that runs already, or that this key started, where there is one. Raises `ClinicalInputError` in a family's words."""
    children.facts_changed(session, facts.child.id)
    earlier = timers.of_key(session, by, timer_key) or timers.running(session, by)
    return earlier or _start(session, by, facts, timer_key, started_at, now)


def _start(session: Session, by: Subscription, facts: TimerFacts, timer_key: str, started_at: datetime, now: datetime) -> Timer:
    on = local_today(started_at, facts.child.time_zone)
    regimen = regimen_of(facts.revisions, on, open_days(local_today(now, facts.child.time_zone), DAYS_BACK))
    if not regimen.minutes_on(on):
        raise ClinicalInputError("timer", msg("No patch was planned on that day."))
    timer = timers.add(session, facts.child, by, timer_key, started_at)
    audit(session, caregiver(by), facts.child, "start-timer", timer.public_id, now)
    return timer


def hear(session: Session, by: Subscription, facts: TimerFacts, timer_key: str, started_at: datetime, now: datetime) -> Timer:
    """Of a start that a device kept for itself, by its own time. Raises `ClinicalInputError` in a family's words."""
    children.facts_changed(session, facts.child.id)
    return timers.of_key(session, by, timer_key) or _start(session, by, facts, timer_key, started_at, now)


def running(session: Session, by: Subscription, timer_key: str) -> Timer:
    """Raises `NotFoundError` for one that nobody started."""
    timer = timers.of_key(session, by, timer_key)
    if timer is None:
        raise NotFoundError
    return timer


def stop(session: Session, by: Subscription, facts: TimerFacts, stopped: Stopped, now: datetime) -> date:
    """The date it was noted for; the same stop again notes nothing more.

    Raises `ClinicalInputError` for a question that is open (`until`, `naps_off`, `correction_worn`), `AddOrCorrectError` where minutes without times stand,
    `NotFoundError` for a timer nobody started.
    """
    children.facts_changed(session, facts.child.id)
    timer = running(session, by, stopped.timer_key)
    on = local_today(timer.started_at, facts.child.time_zone)
    if timer.stopped_at is not None:
        return on
    regimen_of(facts.revisions, on, open_days(local_today(now, facts.child.time_zone), DAYS_BACK))
    _note(session, by, facts.child, on, _spans(facts, timer.started_at, stopped, now), stopped, now)
    timers.stop(session, timer, now)
    return on


def _spans(facts: TimerFacts, started_at: datetime, stopped: Stopped, now: datetime) -> tuple[Span, ...]:
    resolved, ended_at = facts.day_of(started_at), stopped.until or stopped.tapped_at or now
    if stopped.until is None and read(facts, started_at, ended_at).ran_too_long:
        wall = started_at.astimezone(resolved.zone)
        raise ClinicalInputError("until", msg("The timer has run since %(start)s. Until when was the patch on?", start=clock(wall.hour * 60 + wall.minute)))
    if ended_at > now or ended_at - started_at > _DAY:
        raise ClinicalInputError("until", msg("That is later than now, or more than a day has: when did the patch come off?"))
    if whole_minutes(ended_at - started_at) < 1:
        raise ClinicalInputError("until", msg("That is less than a minute after the start."))
    naps = naps_within((started_at, ended_at), resolved)
    if naps and stopped.naps_off is None:
        raise ClinicalInputError("naps_off", msg("A nap lies in this time. Was the patch off then?"))
    if stopped.correction_worn is None:
        raise ClinicalInputError("correction_worn", WERE_THEY_ON)
    spans = less((started_at, ended_at), naps if stopped.naps_off else ())
    if not spans:
        raise ClinicalInputError("naps_off", msg("Then nothing is left: it was all nap."))
    return spans


def _note(session: Session, by: Subscription, child: Child, on: date, spans: Sequence[Span], stopped: Stopped, now: datetime) -> None:
    who, key = caregiver(by), f"timer-{stopped.timer_key}"
    stands = who.mine(counted(wear.entries(session, child.id, on, on + _DAY)))
    if stopped.more is None and any(e.started_at is None for e in stands):
        raise AddOrCorrectError
    replaces = replace_all(session, who, child, stands, key, now) if stands and stopped.more is False else None
    for n, span in enumerate(spans):
        entry = wear.add_entry(
            session,
            child,
            who.who,
            client_key=f"{key}.{n}",
            local_on=on,
            minutes=whole_minutes(span[1] - span[0]),
            reason=None,
            correction_worn=stopped.correction_worn,
            replaces=replaces if n == 0 else None,
            withdrawn=False,
            now=now,
            span=span,
            said_at=stopped.said_at,
        )
        audit(session, who, child, "log-wear", entry.key, now)


def discard(session: Session, by: Subscription, child: Child, timer_key: str, now: datetime) -> None:
    """Stopped without an entry; a timer that is not there is none."""
    children.facts_changed(session, child.id)
    timer = timers.of_key(session, by, timer_key)
    if timer is not None and timer.stopped_at is None:
        timers.stop(session, timer, now)
        audit(session, caregiver(by), child, "discard-timer", timer.public_id, now)
