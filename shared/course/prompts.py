"""What a review may say of gain, adaptation, resolution and recurrence, one rule a function."""

from collections.abc import Iterator
from datetime import timedelta

from shared.course.fellow_eye import fellow_eye_lost
from shared.course.readings import TOLERANCE, reliable, since_baseline
from shared.course.review_facts import Reading, ReviewFacts
from shared.course.wear_rules import wear
from shared.findings import Finding, Param, Quantity, Unit, Weight, msg
from shared.rounding import round_half_up
from shared.sight.acuity import change_between
from shared.sight.acuity_repeatability import as_said, repeatability, way
from shared.sight.outcome import proportional_improvement, residual_amblyopia
from shared.sources import number, source
from shared.vocabulary import AcuityFamily, Aetiology, Phase, Status


def review_due(f: ReviewFacts) -> Iterator[Finding]:
    """The end of the plan: near, today, or gone by with nothing signed since (common practice)."""
    if f.review_on is None or f.ends_on is None:
        return
    if f.ended_unreviewed and f.review_on < f.today:
        text = msg("The plan ended on %(on)s and nothing was signed since: no patch is shown anywhere.", on=f.ends_on)
        family = msg("The plan has ended. Please wait with the patch until the clinic has seen your child.")
        yield Finding("plan-ended", text, Status.COMMON_PRACTICE, weight=Weight.ACT, family=family)
    elif f.ended_unreviewed:
        text = msg("The review is today: the plan has ended, and no patch is shown until the next one is signed.")
        yield Finding("review-today", text, Status.COMMON_PRACTICE, weight=Weight.CHECK)
    elif f.review_on <= f.today:
        text = msg("The review was due on %(on)s. The plan goes on as signed for a visit that slips, and ends on %(ends)s.", on=f.review_on, ends=f.ends_on)
        yield Finding("review-overdue", text, Status.COMMON_PRACTICE, weight=Weight.ACT if f.review_on < f.today else Weight.CHECK)
    elif f.review_on - f.today <= timedelta(days=7):
        text = (
            msg("The review is due on %(on)s; the plan ends that day.", on=f.review_on)
            if f.ends_on == f.review_on
            else msg("The review is due on %(on)s; should it slip, the plan ends on %(ends)s.", on=f.review_on, ends=f.ends_on)
        )
        yield Finding("review-near", text, Status.COMMON_PRACTICE, weight=Weight.CHECK)


def plateau_from(f: ReviewFacts) -> Reading | None:
    """The reading since which nothing was gained, six weeks or more before the newest and after twelve weeks on the dose (ATS15's run-in); None: no plateau."""
    if f.phase is not Phase.OCCLUSION or f.aetiology is Aetiology.DEPRIVATION or list(resolved(f)):
        return None
    long_enough, apart = number("ats15", "weeks_on_dose"), number("ats15", "weeks_between_visits")
    good = since_baseline(f, f.amblyopic)
    if f.weeks_on_dose < long_enough.value or len(good) < 2:
        return None
    now = good[-1]
    before = [r for r in good[:-1] if (now.on - r.on).days >= apart.value * 7]
    if not before or now.acuity.nominal_logmar is None or before[-1].acuity.nominal_logmar is None:
        return None
    return None if now.acuity.nominal_logmar < before[-1].acuity.nominal_logmar - TOLERANCE else before[-1]


def not_working(f: ReviewFacts) -> Iterator[Finding]:
    """No gain: worn, it is not working; hardly worn, the low dose comes before the low response."""
    since = plateau_from(f)
    if since is None:
        return
    rule = number("ats15", "weeks_on_dose")
    weeks, now = Quantity(f.weeks_on_dose, Unit.WEEKS), since_baseline(f, f.amblyopic)[-1]
    if list(wear(f)):
        text = msg(
            "No gain between %(before)s and %(now)s, and little or nothing is known to have been worn: the low dose comes before the low response.",
            before=since.on,
            now=now.on,
        )
        family = msg("The hours come first: let us see together what would make them easier.")
        yield Finding("low-dose-first", text, Status.COMMON_PRACTICE, weight=Weight.CHECK, family=family)
        return
    text = msg(
        "Worn, and no gain between %(before)s and %(now)s after %(weeks)s on this dose. "
        "In this order: retest, refraction and correction really worn, clear axis, pressure, wear; then the dose.",
        before=since.on,
        now=now.on,
        weeks=weeks,
    )
    family = msg("You have kept to the hours and the eye has not gained for a while. We look for the reason before we ask for more.")
    yield Finding("not-working", text, rule.status, (rule.source_key,), weight=Weight.CHECK, family=family)


def amblyopic_change(f: ReviewFacts) -> Iterator[Finding]:
    """The amblyopic eye since its first reading with this test, against what a retest may give."""
    good = since_baseline(f, f.amblyopic)
    if len(good) < 2 or f.method is None or good[-1].acuity.family is AcuityFamily.LOW_VISION:
        return
    change = change_between(good[0].acuity, good[-1].acuity)
    known = repeatability(f.method)
    params: dict[str, Param] = {"change": as_said(change), "on": good[0].on, "way": way(change)}
    if known is None:
        text = msg("Amblyopic eye %(way)s, %(change)s since %(on)s; how far a retest with this test may differ was not found published.", **params)
        yield Finding("amblyopic-change", text, Status.DERIVED, value=change)
        return
    params["limit"] = known.limit
    text = (
        msg("Amblyopic eye %(way)s, %(change)s since %(on)s: more than a retest may differ (±%(limit)s).", **params)
        if known.is_beyond(change)
        else msg("Amblyopic eye %(way)s, %(change)s since %(on)s: within what a retest may differ (±%(limit)s).", **params)
    )
    yield Finding("amblyopic-change", text, known.status, (known.source,), change, (known.measured_on,))


def outcome(f: ReviewFacts) -> Iterator[Finding]:
    """Residual amblyopia and the share of the deficit made good since the first reading with this test (Stewart 2003); none against a fellow eye that lost."""
    if fellow_eye_lost(f):
        return
    amblyopic, fellow = since_baseline(f, f.amblyopic), {r.on: r.acuity.logmar for r in reliable(f.fellow)}
    if len(amblyopic) < 2 or amblyopic[-1].acuity.family is not AcuityFamily.OPTOTYPE:
        return
    start, end, fellow_end = amblyopic[0].acuity.logmar, amblyopic[-1].acuity.logmar, fellow.get(amblyopic[-1].on)
    if start is None or end is None or fellow_end is None or start <= fellow_end:
        return
    share = Quantity(proportional_improvement(start, end, fellow_end) * 100, Unit.PERCENT)
    text = msg(
        "%(share)s of the deficit made good since %(on)s; %(residual)s left between the eyes.",
        share=share,
        on=amblyopic[0].on,
        residual=Quantity(residual_amblyopia(end, fellow_end), Unit.LOGMAR_CHANGE),
    )
    working = (msg("(start − now) / (start − fellow eye now), all in logMAR; less sure when the fellow eye itself changes"),)
    yield Finding("outcome", text, source("stewart-2003").status, ("stewart-2003",), share, working)


def adaptation(f: ReviewFacts) -> Iterator[Finding]:
    """Glasses for sixteen weeks, or two visits in a row without gain: either ends refractive adaptation (ATS5, read)."""
    if f.phase is not Phase.REFRACTIVE_ADAPTATION or f.adaptation_weeks is None:
        return
    first, visits = number("ats5", "spectacles_first"), number("ats5", "visits_without_gain")
    worn = Quantity(f.adaptation_weeks, Unit.WEEKS)
    if f.adaptation_weeks >= first.value:
        text = msg("Glasses for %(worn)s: refractive adaptation has had its %(first)s.", worn=worn, first=first.quantity(Unit.WEEKS))
        yield Finding("adaptation-done", text, first.status, (first.source_key,), weight=Weight.CHECK)
    elif _visits_without_gain(f) >= visits.value:
        text = msg("Glasses for %(worn)s, and %(visits)s visits in a row brought no gain: refractive adaptation is done.", worn=worn, visits=int(visits.value))
        yield Finding("adaptation-done", text, visits.status, (visits.source_key,), weight=Weight.CHECK)
    else:
        early = number("eupatch", "early")
        text = msg(
            "Glasses for %(worn)s of %(first)s: sight may still gain by them alone. One trial began patching after %(early)s.",
            worn=worn,
            first=first.quantity(Unit.WEEKS),
            early=early.quantity(Unit.WEEKS),
        )
        family = msg("Glasses all day: sight can still get better by them alone.")
        yield Finding("adaptation-going-on", text, Status.weakest(first.status, early.status), (first.source_key, early.source_key), family=family)


def _visits_without_gain(f: ReviewFacts) -> int:
    """How many of the latest readings in a row were not better, in chart steps, than the one before them."""
    lines = [r.acuity.nominal_logmar for r in since_baseline(f, f.amblyopic)]
    count = 0
    for before, now in zip(reversed(lines[:-1]), reversed(lines), strict=False):
        if before is None or now is None or now < before - TOLERANCE:
            break
        count += 1
    return count


def resolved_visits(f: ReviewFacts) -> int:
    """How many of the latest dates in a row had both eyes within the resolved difference; two tests on one day are one date.

    None while the fellow eye has lost: a difference that shrank because the better eye fell is no success.
    """
    if fellow_eye_lost(f):
        return 0
    within = number("cotter-2006", "resolved_within").value + TOLERANCE
    fellow = {r.on: r.acuity for r in reliable(f.fellow)}
    amblyopic = {r.on: r.acuity for r in reliable(f.amblyopic)}
    count = 0
    for on in sorted(amblyopic, reverse=True):
        own, other = amblyopic[on], fellow.get(on)
        if other is None or own.family is not AcuityFamily.OPTOTYPE or own.nominal_logmar is None or other.nominal_logmar is None:
            break
        if own.nominal_logmar - other.nominal_logmar > within:
            break
        count += 1
    return count


def resolved(f: ReviewFacts) -> Iterator[Finding]:
    """Within one line of the fellow eye on the newest date (Cotter 2006, read)."""
    within = number("cotter-2006", "resolved_within")
    if f.aetiology is not Aetiology.DEPRIVATION and resolved_visits(f):
        text = msg("Within %(within)s of the fellow eye: resolved by this definition.", within=within.quantity(Unit.LOGMAR))
        yield Finding("resolved", text, within.status, (within.source_key,))


def recurrence(f: ReviewFacts) -> Iterator[Finding]:
    """After a stop: two lines lost since the last reading before it are a recurrence, once confirmed (ATS2C, read)."""
    if f.stopped_on is None:
        return
    good = since_baseline(f, f.amblyopic)
    before = [r for r in good if r.on <= f.stopped_on]
    if not before or good[-1].on <= f.stopped_on:
        return
    then, now = before[-1].acuity.nominal_logmar, good[-1].acuity.nominal_logmar
    levels, often = number("ats2c", "recurrence_levels"), number("ats2c", "recurrence")
    if then is None or now is None or round_half_up((now - then) * 10) < levels.value:
        return
    lost = Quantity(round_half_up((now - then) * 10), Unit.LINES)
    text = msg(
        "Amblyopic eye worse by %(lost)s since treatment stopped on %(on)s: confirm it by a retest; a confirmed loss of this size was counted as "
        "recurrence, which came to %(often)s within a year.",
        lost=lost,
        on=f.stopped_on,
        often=often.quantity(Unit.PERCENT),
    )
    family = msg("The eye that was learning reads less than when the patch stopped. We measure again soon, and talk about what to do.")
    yield Finding("recurrence", text, levels.status, (levels.source_key,), lost, weight=Weight.ACT, family=family)
