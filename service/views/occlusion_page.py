"""The proposal with its reasons, and the plan in dates as it would be signed."""

from dataclasses import dataclass
from datetime import date, timedelta

from schedules.day import Weekday, named
from schedules.regimen import Regimen
from service.actions.regimens import Answer, Draft, Facts, NotEnoughKnown, Offered, Worked, answer, covering_needs_reason, grace_limit, offered
from service.facts import Child
from service.i18n import Words
from service.views.beside_proposal import Beside, beside
from service.views.case import Case, newest_pair
from service.views.review_facts import review_facts
from service.views.shown import FindingShown, SourceShown, age_shown, amount_shown, dose_shown, finding_shown, sources_shown, turns_shown
from service.views.visit_page import read_as
from shared.course.review import findings
from shared.findings import Finding, Quantity, Unit, Weight, msg
from shared.treatment.dose import DatedDose, NoPublishedDose
from shared.treatment.full_time import full_time_review
from shared.treatment.protocol_words import Pattern
from shared.vocabulary import Laterality, Phase

PROTOCOL = "protocol-"  # of the choice of a dose; then the protocol's id


@dataclass(frozen=True)
class ProposalShown:
    minutes: int | None  # None: no dose, for the reason that `headline` and `reason` give
    headline: str
    phase: str
    reason: str
    review_in: str
    finding: FindingShown | None
    sources: tuple[SourceShown, ...]
    cautions: tuple[str, ...]


@dataclass(frozen=True)
class Step:
    """The same minutes on every date of the half-open span."""

    first_on: date
    last_on: date
    minutes: int
    amount: str  # in hours, with the days of its pattern
    age: str


@dataclass(frozen=True)
class PlannedDate:
    on: date
    minutes: int
    eye: Laterality | None  # covered; None on a day without a patch


@dataclass(frozen=True)
class DraftShown:
    regimen: Regimen
    digest: str
    steps: tuple[Step, ...]
    dates: tuple[PlannedDate, ...]
    total_hours: float
    turns: str  # of eyes that alternate
    grace: str  # how far it may go on past the review, and why no further
    remark: FindingShown | None  # on what is about to be signed
    spoken: str  # every step of the dose, for the button that signs it


@dataclass(frozen=True)
class ProtocolOffered:
    """A protocol of the clinic's for this child; `amount` is "" where waking hours are not known."""

    key: str
    heading: str
    amount: str
    working: str
    review: str
    near_work: str
    reference: str


@dataclass(frozen=True)
class OcclusionPage:
    child: Child
    today: date
    age: str
    facts_used: tuple[tuple[str, str], ...]
    proposal: ProposalShown
    beside: Beside | None
    protocols: tuple[ProtocolOffered, ...]
    doses: tuple[tuple[str, str], ...]  # what may be chosen
    weekdays: tuple[tuple[int, str], ...]
    days_open: bool  # the choice of other days, or of eyes in turn, is in use
    draft: DraftShown | None
    needs_covered_reason: bool
    acts: tuple[FindingShown, ...]  # what a review would act on first
    supersedes: tuple[tuple[int, date], ...]  # signed revisions still to come, by number and first day: this one would take their place
    may_sign: bool


def view(c: Case, facts: Facts, draft: Draft, worked: Worked | None, may_sign: bool, words: Words) -> OcclusionPage:
    found = answer(facts)
    protocols = tuple(_offered(o, words) for o in offered(facts, c.protocols))
    return OcclusionPage(
        child=c.child,
        today=c.today,
        age=age_shown(c.child.born_on, c.today, words),
        facts_used=_facts_used(c, facts, words),
        proposal=_proposal(found, words),
        beside=beside(facts, found, words),
        protocols=protocols,
        doses=_doses(protocols, words),
        days_open=draft.own_pattern is not Pattern.DAILY or bool(draft.own_weekdays) or draft.turn_days > 0,
        weekdays=tuple((day.value, words.param(named(day))) for day in Weekday),
        draft=_draft(c, facts, worked, words) if worked else None,
        needs_covered_reason=covering_needs_reason(c.child, draft),
        acts=tuple(finding_shown(f, words) for f in findings(review_facts(c)) if f.weight is Weight.ACT),
        supersedes=tuple((s.regimen.number, s.regimen.start_on) for s in c.to_come),
        may_sign=may_sign,
    )


def _offered(o: Offered, words: Words) -> ProtocolOffered:
    p = o.entered.protocol
    dose = DatedDose(o.entered.from_on, o.minutes, p.pattern) if o.minutes is not None else None
    return ProtocolOffered(
        key=o.entered.public_id,
        heading=words.text(msg("The clinic's protocol “%(name)s” (%(author)s)", name=p.name, author=p.author)),
        amount=dose_shown(dose, words) if dose else "",
        working=words.text(o.working),
        review=words.quantity(Quantity(p.review_weeks, Unit.WEEKS)),
        near_work=p.near_work,
        reference=p.reference,
    )


def _doses(protocols: tuple[ProtocolOffered, ...], words: Words) -> tuple[tuple[str, str], ...]:
    own = [(f"{PROTOCOL}{p.key}", words.text(msg("%(heading)s: %(amount)s", heading=p.heading, amount=p.amount))) for p in protocols if p.amount]
    return (("proposed", words.gettext("as proposed, date by date")), *own, ("own", words.gettext("a dose of your own")))


def _proposal(found: Answer, words: Words) -> ProposalShown:
    if isinstance(found, NoPublishedDose):
        return ProposalShown(None, words.gettext("No published dose"), "", words.text(found.reason), "", None, sources_shown(found.sources), ())
    if isinstance(found, NotEnoughKnown):
        return ProposalShown(None, words.gettext("Not enough is known"), "", words.text(found.reason), "", None, (), ())
    return ProposalShown(
        minutes=found.minutes_per_day,
        headline="",
        phase=words.label(found.phase),
        reason="",
        review_in=words.text(msg("%(weeks)s (%(known)s)", weeks=Quantity(found.review_in_weeks, Unit.WEEKS), known=found.review.status)),
        finding=finding_shown(found.finding, words),
        sources=sources_shown([found.review.source_key]),
        cautions=tuple(map(words.text, found.cautions)),
    )


def _facts_used(c: Case, facts: Facts, words: Words) -> tuple[tuple[str, str], ...]:
    """What the rule was given, so that a wrong fact is seen here and not in the dose."""
    if facts is None:
        return ()
    rows = [
        (words.gettext("Cause"), words.label(facts.aetiology)),
        (words.gettext("Amblyopic eye"), words.label(facts.amblyopic_eye_status)),
        (words.gettext("Fellow eye"), words.label(facts.fellow_eye_status)),
    ]
    if facts.age_at_surgery_months is not None:
        rows.append((words.gettext("Age at surgery"), words.quantity(Quantity(facts.age_at_surgery_months, Unit.MONTHS))))
    if facts.waking_hours is not None:
        rows.append((words.gettext("Waking hours"), words.quantity(Quantity(facts.waking_hours, Unit.HOURS))))
    pair = newest_pair(c.visits)
    if pair and facts.amblyopic_acuity and facts.fellow_acuity:
        rows.append((words.gettext("Measured on"), words.date(pair[0])))
        for name, acuity in ((words.gettext("Amblyopic eye sees"), facts.amblyopic_acuity), (words.gettext("Fellow eye sees"), facts.fellow_acuity)):
            rows.append((name, f"{acuity.typed} = {read_as(acuity, words)}"))
    return tuple(rows)


def remark(c: Case, facts: Facts, r: Regimen) -> Finding | None:
    """What the clinic's rules say of a plan that is about to be signed."""
    if r.review_on is None or not all(d.is_daily for d in r.doses):
        return None
    most = max((d.minutes for d in r.doses), default=0)
    weeks = (r.review_on - r.start_on).days / 7
    found = full_time_review(most, c.age_months, facts.waking_hours if facts else None, weeks)
    return found if found is not None and found.rule not in c.rules.limits.rules_off else None


def _draft(c: Case, facts: Facts, worked: Worked, words: Words) -> DraftShown:
    r = worked.regimen
    dates: tuple[PlannedDate, ...] = ()
    if r.phase is Phase.OCCLUSION and r.ends_on:
        days = (r.start_on + timedelta(days=n) for n in range((r.ends_on - r.start_on).days))
        dates = tuple(PlannedDate(day, minutes, r.covered_on(day) if minutes else None) for day in days for minutes in [r.minutes_on(day)])
    ends = [*[d.from_on for d in r.doses[1:]], r.ends_on]
    steps = tuple(
        Step(d.from_on, end - timedelta(days=1), d.minutes, amount_shown(d, words), age_shown(c.child.born_on, d.from_on, words))
        for d, end in zip(r.doses, ends, strict=False)
        if end
    )
    spoken = words.gettext(", then ").join(s.amount for s in steps)
    limit, said = grace_limit(c.child, facts, r), remark(c, facts, r)
    grace = words.text(msg("At most %(days)s days past the review (common practice): %(reason)s.", days=limit.days, reason=limit.reason))
    turns = turns_shown(r, words) if r.turn_days else ""
    until_review = sum(d.minutes for d in dates if r.review_on and d.on < r.review_on) / 60
    return DraftShown(r, worked.digest, steps, dates, until_review, turns, grace, finding_shown(said, words) if said else None, spoken)
