"""What a caregiver sees: the chosen day in plain words, what stands for it, and the week."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from sqlmodel import Session

from schedules.adherence import WearEntry, counted, day_wear
from schedules.regimen import Regimen, in_force
from service.actions.wear import NotWornReason, open_days
from service.clock import local_today
from service.facts import Clinic, Subscription
from service.i18n import Words
from service.store import children, people, signed, wear
from service.views import charts
from shared.findings import msg
from shared.vocabulary import Laterality, MissingCorrectionRule, OpticalStatus, Phase

REASONS = {
    NotWornReason.REFUSED: msg("did not want it"),
    NotWornReason.ILL: msg("was ill"),
    NotWornReason.SKIN: msg("sore skin"),
    NotWornReason.FORGOT: msg("forgot"),
    NotWornReason.LOST_PATCH: msg("patch lost or used up"),
    NotWornReason.TRAVELLING: msg("travelling"),
    NotWornReason.OTHER: msg("something else"),
}


@dataclass(frozen=True)
class StandingEntry:
    key: str
    words: str


@dataclass(frozen=True)
class DayLink:
    on: date
    address: str
    state: str


@dataclass(frozen=True)
class FamilyPage:
    label: str
    base: str
    today: date
    on: date
    phase: Phase | None  # None: nothing is planned that day
    minutes: int
    covered_eye: Laterality | None
    correction: str  # the glasses, the lens: what must be on for the hours to count
    missing_correction: str
    standing: tuple[StandingEntry, ...]
    may_log: bool
    reasons: tuple[tuple[str, str], ...]
    week: charts.WeekBars | None
    days: tuple[DayLink, ...]
    next_review_on: date | None
    clinic: Clinic


def view(session: Session, subscription: Subscription, words: Words, now: datetime, base: str, chosen: date | None, *, only: date | None) -> FamilyPage:
    """`only` is the one day a calendar entry's link may show: then there is no week and no history."""
    child = children.child_by_id(session, subscription.child_id)
    today = local_today(now, child.time_zone)
    days = open_days(today)
    on = only or (chosen if chosen in days else today)
    revisions = signed.revisions(signed.regimens(session, child))
    entries = wear.entries(session, child.id, days[-1], max(today, on) + timedelta(days=1))
    regimen = in_force(revisions, on)
    lens = any(child.status(eye, on) is OpticalStatus.APHAKIC for eye in Laterality)
    stands = [e for e in counted(entries) if e.local_on == on]
    return FamilyPage(
        label=subscription.label,
        base=base,
        today=today,
        on=on,
        phase=regimen.phase if regimen else None,
        minutes=regimen.minutes_on(on) if regimen else 0,
        covered_eye=regimen.covered_eye if regimen else None,
        correction=words.gettext("the lens or the glasses") if lens else words.gettext("the glasses"),
        missing_correction=_missing(regimen, words),
        standing=tuple(StandingEntry(e.key, _said(e, words)) for e in stands),
        may_log=on in days and regimen is not None and regimen.phase in (Phase.OCCLUSION, Phase.REFRACTIVE_ADAPTATION),
        reasons=tuple((r.value, words.text(m)) for r, m in REASONS.items()),
        week=None if only else _week(revisions, entries, days[:7], words),
        days=() if only else tuple(_day_link(base, revisions, entries, day, words) for day in days),
        next_review_on=regimen.review_on if regimen else None,
        clinic=people.clinic(session, subscription.clinic_id),
    )


def _missing(regimen: Regimen | None, words: Words) -> str:
    if regimen is None or regimen.phase is not Phase.OCCLUSION:
        return ""
    if regimen.missing_correction is MissingCorrectionRule.HOLD_AND_RING:
        return words.gettext("do not put the patch on. Ring the clinic.")
    return words.gettext("go on with the patch, and ring the clinic.")


def _said(e: WearEntry, words: Words) -> str:
    if not e.minutes:
        reason = REASONS[NotWornReason(e.reason)] if e.reason else None
        if reason:
            return words.text(msg("no patch (%(reason)s)", reason=reason))
        worn = msg("glasses or lens on") if e.correction_worn else msg("glasses or lens off")
        return words.text(worn)
    time = words.hours(e.minutes)
    return words.text(msg("%(time)s, without the glasses or lens", time=time)) if e.correction_worn is False else time


def _week(revisions: Sequence[Regimen], entries: Sequence[WearEntry], days: Sequence[date], words: Words) -> charts.WeekBars:
    shown = []
    for day in reversed(days):
        regimen, worn = in_force(revisions, day), day_wear(entries, day)
        shown.append(
            charts.WeekDay(
                on=day,
                label=words.weekday(day),
                prescribed_minutes=regimen.minutes_on(day) if regimen else 0,
                received_minutes=worn.received_minutes if worn.how_known == "reported" else None,
                text=_day_state(revisions, entries, day, words),
            )
        )
    return charts.week_bars(shown, words.gettext("The last seven days"))


def _day_state(revisions: Sequence[Regimen], entries: Sequence[WearEntry], day: date, words: Words) -> str:
    regimen, worn = in_force(revisions, day), day_wear(entries, day)
    if not (regimen and regimen.minutes_on(day)) and worn.how_known == "unknown":
        return words.gettext("nothing planned")
    if worn.how_known == "unknown":
        return words.gettext("nothing noted yet")
    if worn.nothing_worn:
        return words.gettext("no patch noted") if regimen and regimen.minutes_on(day) else words.gettext("noted")
    return words.gettext("%(time)s noted") % {"time": words.hours(worn.received_minutes + worn.without_correction_minutes)}


def _day_link(base: str, revisions: Sequence[Regimen], entries: Sequence[WearEntry], day: date, words: Words) -> DayLink:
    return DayLink(day, f"{base}?day={day.isoformat()}", _day_state(revisions, entries, day, words))
