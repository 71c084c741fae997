"""What a caregiver sees: the chosen day in plain words, what stands for it, and the week."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from sqlmodel import Session

from schedules.adherence import WearEntry, counted, day_wear
from schedules.regimen import Regimen, in_force
from service.actions.wear import How, NotWornReason, Said, caregiver, open_days
from service.facts import Child, Clinic, SignedRegimen, Subscription
from service.facts_of_teaching import Level, Skill
from service.i18n import Words
from service.store import children, people, teaching, timers, wear
from service.views import case, charts
from service.views.cautions import CAUTIONS, FIRST_DAYS
from service.views.family_care import WeekOfCare, day_of_care, week_of_care
from service.views.family_timer import TimerShown, next_session, shown
from service.views.planned import clock_span, is_off, planned_day
from service.views.shown import NOT_WORN
from shared.findings import Message, msg, safety
from shared.vocabulary import Laterality, MissingCorrectionRule, OpticalStatus, Phase

UNDO_AT_ONCE = timedelta(minutes=10)


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
    off_by_pattern: bool  # no patch on this day, between days with one
    off_told: bool  # no patch on this day, as the family told
    sessions: tuple[str, ...]  # where the day's time was found, as by the clock
    too_short: str  # what to say where not all of it fits into the day
    drop_eye: Laterality | None  # of a phase of drops
    drop_today: bool
    drops_over: bool  # there were drops before, and none belong to this day's plan
    break_until: date | None  # the patch begins again on it; None outside a treatment break
    time: str  # the minutes in words
    covered_eye: Laterality | None
    correction: str  # the glasses, the lens: what must be on for the hours to count
    missing_correction: Message | None
    standing: tuple[StandingEntry, ...]
    fresh: StandingEntry | None  # what was noted a moment ago through this link
    timer: TimerShown | None
    may_time: bool
    next_session: str
    tapped: str  # what was just tapped and waits for one more answer, in words
    may_log: bool
    reasons: tuple[tuple[str, str], ...]
    week: charts.WeekBars | None
    days: tuple[DayLink, ...]
    next_review_on: date | None
    goes_on_until: date | None  # the last day, where the plan may go on past a review that slips
    eyes_alternate: bool
    care: WeekOfCare
    first_days: tuple[Message, ...]
    clinic: Clinic


def view(
    session: Session,
    subscription: Subscription,
    words: Words,
    now: datetime,
    base: str,
    chosen: date | None,
    *,
    only: date | None,
    tapped: Said | None = None,
) -> FamilyPage:
    """`only` is the one day a calendar entry's link may show: then there is no week and no history."""
    c = case.load(session, children.child_by_id(session, subscription.child_id), now)
    today = c.today
    days = open_days(today)
    on = only or (chosen if chosen in days else today)
    entries = wear.entries(session, c.child.id, days[-1], max(today, on) + timedelta(days=1))
    regimen = in_force(c.revisions, on)
    minutes = regimen.minutes_on(on) if regimen else 0
    who = caregiver(subscription)
    entries = who.mine(entries)
    stands = [e for e in counted(entries) if e.local_on == on]
    fresh = next((e for e in reversed(stands) if e.recorded_by == who.who and now - e.recorded_at <= UNDO_AT_ONCE), None)
    planned = planned_day(c, on)
    return FamilyPage(
        label=subscription.label,
        base=base,
        today=today,
        on=on,
        phase=regimen.phase if regimen else None,
        minutes=minutes,
        off_by_pattern=regimen is not None and regimen.off_by_pattern(on),
        off_told=is_off(c, on),
        sessions=tuple(map(clock_span, planned.sessions)),
        too_short=words.text(planned.finding.family) if planned.finding and planned.finding.family else "",
        drop_eye=regimen.drops.eye if regimen and regimen.drops else None,
        drops_over=any(r.drops for r in c.revisions if r.start_on <= on) and (regimen is None or regimen.drops is None),
        drop_today=regimen is not None and regimen.drop_on(on),
        break_until=_break_until(next((s for s in c.regimens if s.regimen is regimen), None), on),
        time=spoken(minutes, words),
        covered_eye=regimen.covered_on(on) if regimen else None,
        correction=correction_in_words(c.child, on, words),
        missing_correction=missing_correction(regimen),
        standing=tuple(StandingEntry(e.key, _said(e, c, words)) for e in stands if e is not fresh),
        fresh=StandingEntry(fresh.key, _said(fresh, c, words)) if fresh else None,
        timer=shown(c, running, now, words) if only is None and on == today and (running := timers.running(session, subscription)) else None,
        may_time=only is None and on == today and minutes > 0 and not is_off(c, on),
        next_session=next_session(c, now) if on == today else "",
        tapped=said_in_words(tapped.minutes or (minutes if tapped.how is How.ALL else 0), tapped.reason, tapped.correction_worn, words) if tapped else "",
        may_log=on in days and regimen is not None and regimen.phase in (Phase.OCCLUSION, Phase.REFRACTIVE_ADAPTATION),
        reasons=reasons(words),
        week=None if only else _week(c, entries, days[:7], words),
        days=() if only else tuple(DayLink(day, f"{base}?day={day.isoformat()}", day_state(c, entries, day, words)) for day in days[:7]),
        next_review_on=regimen.review_on if regimen else None,
        goes_on_until=regimen.ends_on - timedelta(days=1) if regimen and regimen.ends_on and regimen.grace_days else None,
        eyes_alternate=regimen is not None and regimen.turn_days > 0,
        care=_care(c, only, teaching.levels(session, subscription), words),
        first_days=_first_days(regimen, on),
        clinic=people.clinic(session, subscription.clinic_id),
    )


def _said(e: WearEntry, c: case.Case, words: Words) -> str:
    said = said_in_words(e.minutes, e.reason, e.correction_worn, words)
    if e.started_at is None or e.ended_at is None:
        return said
    zone = c.household.resolve(e.local_on).zone
    return words.text(msg("%(span)s: %(said)s", span=f"{e.started_at.astimezone(zone):%H:%M}–{e.ended_at.astimezone(zone):%H:%M}", said=said))


def _care(c: case.Case, only: date | None, may: Mapping[Skill, Level], words: Words) -> WeekOfCare:
    """The next seven days; by a calendar entry's link the care of its day."""
    return week_of_care(c, may, words) if only is None else day_of_care(c, only, may, words)


def _first_days(regimen: Regimen | None, on: date) -> tuple[Message, ...]:
    """What is said again at the beginning of a plan with a patch."""
    new = regimen is not None and regimen.phase is Phase.OCCLUSION and on < regimen.start_on + FIRST_DAYS
    return CAUTIONS if new else ()


def _break_until(document: SignedRegimen | None, on: date) -> date | None:
    if document is None or "break" not in document.content:
        return None
    first_on, until_on = map(date.fromisoformat, document.content["break"])
    return until_on if first_on <= on < until_on else None


def reasons(words: Words) -> tuple[tuple[str, str], ...]:
    return tuple((r.value, words.text(m)) for r, m in NOT_WORN.items())


def correction_in_words(child: Child, on: date, words: Words) -> str:
    return words.text(correction_of(child, on))


def correction_of(child: Child, on: date) -> Message:
    return msg("the lens or the glasses") if wears_lens(child, on) else msg("the glasses")


def wears_lens(child: Child, on: date) -> bool:
    return any(child.status(eye, on) is OpticalStatus.APHAKIC for eye in Laterality)


def missing_correction(regimen: Regimen | None) -> Message | None:
    """What was signed for the day on which the glasses or the lens are not there."""
    if regimen is None or regimen.phase is not Phase.OCCLUSION:
        return None
    if regimen.missing_correction is MissingCorrectionRule.HOLD_AND_RING:
        return safety("do not put the patch on. Ring the clinic.")
    return safety("go on with the patch, and ring the clinic.")


def spoken(minutes: int, words: Words) -> str:
    """`2 hours`, `1 hour 30 minutes`: no abbreviation for a family to guess at."""
    whole, rest = divmod(minutes, 60)
    hours = words.catalogue.ngettext("%(n)s hour", "%(n)s hours", whole) % {"n": whole}
    rest_in_words = words.catalogue.ngettext("%(n)s minute", "%(n)s minutes", rest) % {"n": rest}
    if not whole:
        return rest_in_words
    return words.gettext("%(hours)s %(minutes)s") % {"hours": hours, "minutes": rest_in_words} if rest else hours


def said_in_words(minutes: int, reason: str | None, correction_worn: bool | None, words: Words) -> str:
    if reason:
        return words.text(msg("no patch (%(reason)s)", reason=NOT_WORN[NotWornReason(reason)]))
    if not minutes:
        return words.gettext("glasses or lens on") if correction_worn else words.gettext("glasses or lens off")
    time = spoken(minutes, words)
    return words.text(msg("%(time)s, without the glasses or lens", time=time)) if correction_worn is False else time


def _week(c: case.Case, entries: Sequence[WearEntry], days: Sequence[date], words: Words) -> charts.WeekBars:
    shown = []
    for day in reversed(days):
        regimen, worn = in_force(c.revisions, day), day_wear(entries, day)
        shown.append(
            charts.WeekDay(
                on=day,
                label=words.weekday(day),
                prescribed_minutes=regimen.minutes_on(day) if regimen else 0,
                received_minutes=worn.received_minutes if worn.how_known == "reported" else None,
                text=day_state(c, entries, day, words),
            )
        )
    return charts.week_bars(shown, words.gettext("The last seven days"))


def day_state(c: case.Case, entries: Sequence[WearEntry], day: date, words: Words) -> str:
    regimen, worn = in_force(c.revisions, day), day_wear(entries, day)
    glasses_alone = regimen is not None and regimen.phase is Phase.REFRACTIVE_ADAPTATION
    if regimen is not None and regimen.drops:
        return words.gettext("one drop") if regimen.drop_on(day) else words.gettext("no drop")
    if worn.how_known == "unknown" and regimen is not None and (regimen.off_by_pattern(day) or is_off(c, day)):
        return words.gettext("a day off")
    if worn.how_known == "unknown":
        expected = glasses_alone or (regimen is not None and regimen.minutes_on(day))
        return words.gettext("nothing noted yet") if expected else words.gettext("nothing planned")
    if glasses_alone and worn.nothing_worn:
        on = any(e.correction_worn for e in counted(entries) if e.local_on == day)
        return words.gettext("glasses or lens on") if on else words.gettext("glasses or lens off")
    if worn.nothing_worn:
        return words.gettext("no patch noted") if regimen and regimen.minutes_on(day) else words.gettext("noted")
    return words.gettext("%(time)s noted") % {"time": spoken(worn.received_minutes + worn.without_correction_minutes, words)}
