"""What a review may bring up, one rule a function. Not worn, not known and not working are three findings, never one."""

from collections.abc import Iterator
from datetime import timedelta

from shared.acuity import change_between
from shared.dates import completed_months
from shared.findings import Finding, Message, Param, Quantity, Unit, Weight, msg
from shared.outcome import proportional_improvement, residual_amblyopia
from shared.review_facts import Reading, ReviewFacts
from shared.rounding import round_half_up
from shared.sources import number, source
from shared.vocabulary import AcuityFamily, AcuityMethod, Aetiology, Phase, Status

LOW_SHARE = 0.5  # of the prescribed time, and of the days that are known: a clinic's habit, shown with every finding (common practice)
GRATING_DROP_OCTAVES = 1.0  # derived: a retest lies within half an octave nine times in ten
_TOLERANCE = 1e-9


def repeatability(method: AcuityMethod) -> float | None:
    """95 % limits of a change in logMAR where they were published for this test (HOTV: Holmes 2001), else None: unknown."""
    return number("holmes-2001", "change").value if method is AcuityMethod.CROWDED_HOTV else None


def reliable(readings: tuple[Reading, ...]) -> list[Reading]:
    """Readings that may trigger a rule."""
    return [r for r in readings if r.reliable]


def since_baseline(f: ReviewFacts, readings: tuple[Reading, ...]) -> list[Reading]:
    """Readings that may trigger a rule, from the day on which the comparison began anew (common practice: after squint surgery)."""
    return [r for r in reliable(readings) if f.baseline_from is None or r.on >= f.baseline_from]


def fellow_eye_loss(f: ReviewFacts) -> Iterator[Finding]:
    """The covered eye against its best earlier reading with this test; a fall from a measurement to a category counts across tests."""
    fallen = next(_fallen_to_category(f), None)
    if fallen is not None:
        yield fallen
        return
    good = reliable(f.fellow)
    if len(good) < 2 or good[-1].acuity.family is AcuityFamily.LOW_VISION:
        return
    now, best = good[-1], min(good[:-1], key=lambda r: r.acuity.logmar if r.acuity.logmar is not None else 9.0)
    if now.acuity.family is AcuityFamily.GRATING:
        drop = change_between(best.acuity, now.acuity)
        if drop.value >= GRATING_DROP_OCTAVES - _TOLERANCE:
            text = msg("Fellow eye down by %(drop)s on grating cards since %(on)s: retest.", drop=drop, on=best.on)
            yield Finding("fellow-eye-grating", text, Status.DERIVED, value=drop, weight=Weight.CHECK)
        return
    if best.acuity.nominal_logmar is None or now.acuity.nominal_logmar is None:
        return
    lines = round_half_up((now.acuity.nominal_logmar - best.acuity.nominal_logmar) * 10)
    limit = number("aao-ppp-2022", "fellow_lines")
    working = (msg("%(before)s on %(on)s, %(now)s on %(now_on)s, in chart steps", before=best.acuity.typed, on=best.on, now=now.acuity.typed, now_on=now.on),)
    value = Quantity(lines, Unit.LINES)
    if lines >= limit.value:
        text = msg("Fellow eye worse by %(lines)s: pause the patch and see why.", lines=value)
        yield Finding("fellow-eye-two-lines", text, limit.status, (limit.source_key,), value, working, Weight.ACT)
    elif lines >= 1:
        text = msg("Fellow eye worse by %(lines)s: it may be no more than a retest gives; measure it again.", lines=value)
        known = f.method is AcuityMethod.CROWDED_HOTV  # the one test whose repeatability was published
        status, sources = (Status.DERIVED, ("holmes-2001",)) if known else (Status.COMMON_PRACTICE, ())
        yield Finding("fellow-eye-one-line", text, status, sources, value, working, Weight.CHECK)


def fellow_eye_lost(f: ReviewFacts) -> bool:
    """The fellow eye has lost enough to act on: then it measures neither what the amblyopic eye gained nor what is left."""
    return any(p.weight is Weight.ACT for p in fellow_eye_loss(f))


def _fallen_to_category(f: ReviewFacts) -> Iterator[Finding]:
    """Across every test: from a measurement to a category, or from a category to a worse one (common practice)."""
    good = reliable(f.fellow_any or f.fellow)
    if len(good) < 2:
        return
    now, best = good[-1], min(good[:-1], key=lambda r: r.acuity.category_rank)
    if now.acuity.category_rank > best.acuity.category_rank:
        text = msg("Fellow eye down from “%(before)s” to “%(now)s”: pause the patch and see why.", before=best.acuity.typed, now=now.acuity.typed)
        yield Finding("fellow-eye-category", text, Status.COMMON_PRACTICE, weight=Weight.ACT)


def covered_eye(f: ReviewFacts) -> Iterator[Finding]:
    """The plan in force covers the eye recorded as amblyopic, without a reason for it (common practice)."""
    if f.covers_amblyopic_unsaid:
        text = msg("The plan in force covers the eye that is now recorded as amblyopic: check the record and the plan at once.")
        yield Finding("covers-amblyopic-eye", text, Status.COMMON_PRACTICE, weight=Weight.ACT)


def review_due(f: ReviewFacts) -> Iterator[Finding]:
    """The end of the plan: near, today, or gone by with nothing signed since (common practice)."""
    if f.review_on is None:
        return
    if f.ended_unreviewed and f.review_on < f.today:
        text = msg("The plan ended on %(on)s and nothing was signed since: no patch is shown anywhere.", on=f.review_on)
        yield Finding("plan-ended", text, Status.COMMON_PRACTICE, weight=Weight.ACT)
    elif f.ended_unreviewed:
        text = msg("The review is today: the plan has ended, and no patch is shown until the next one is signed.")
        yield Finding("review-today", text, Status.COMMON_PRACTICE, weight=Weight.CHECK)
    elif f.review_on - f.today <= timedelta(days=7):
        text = msg("The review is due on %(on)s; the plan ends that day.", on=f.review_on)
        yield Finding("review-near", text, Status.COMMON_PRACTICE, weight=Weight.CHECK)


def wear(f: ReviewFacts) -> Iterator[Finding]:
    """Not known and not worn are two findings, each against the clinic's limit (common practice)."""
    limit = Quantity(LOW_SHARE * 100, Unit.PERCENT)
    if f.known_days_share is None:
        return
    if f.known_days_share < LOW_SHARE:
        share = Quantity(f.known_days_share * 100, Unit.PERCENT)
        text = msg(
            "Wear is not known: something was noted on %(share)s of the days (the limit here is %(limit)s). Ask before judging the dose.",
            share=share,
            limit=limit,
        )
        yield Finding("wear-not-known", text, Status.COMMON_PRACTICE, value=share, weight=Weight.CHECK)
    if f.received_share_of_known is not None and f.received_share_of_known < LOW_SHARE:
        share = Quantity(f.received_share_of_known * 100, Unit.PERCENT)
        text = msg("Little is worn: %(share)s of the prescribed time on the days that are known (the limit here is %(limit)s).", share=share, limit=limit)
        yield Finding("wear-low", text, Status.COMMON_PRACTICE, value=share, weight=Weight.CHECK)


def not_working(f: ReviewFacts) -> Iterator[Finding]:
    """Worn, known, and no gain: two readings apart after long enough on the dose (ATS15's run-in)."""
    if f.phase is not Phase.OCCLUSION or f.aetiology is Aetiology.DEPRIVATION or list(wear(f)) or list(resolved(f)):
        return
    long_enough, apart = number("ats15", "weeks_on_dose"), number("ats15", "weeks_between_visits")
    good = since_baseline(f, f.amblyopic)
    if f.weeks_on_dose < long_enough.value or len(good) < 2:
        return
    now = good[-1]
    before = [r for r in good[:-1] if (now.on - r.on).days >= apart.value * 7]
    if not before or now.acuity.nominal_logmar is None or before[-1].acuity.nominal_logmar is None:
        return
    if now.acuity.nominal_logmar < before[-1].acuity.nominal_logmar - _TOLERANCE:
        return
    text = msg(
        "Worn, and no gain between %(before)s and %(now)s after %(weeks)s on this dose. "
        "In this order: retest, refraction and correction really worn, clear axis, pressure, wear; then the dose.",
        before=before[-1].on,
        now=now.on,
        weeks=Quantity(f.weeks_on_dose, Unit.WEEKS),
    )
    yield Finding("not-working", text, long_enough.status, (long_enough.source_key,), weight=Weight.CHECK)


def pressure_due(f: ReviewFacts) -> Iterator[Finding]:
    """An operated eye without a pressure in three months (interval from memory); the end of a plan never ends it."""
    if not f.operated:
        return
    every, risk = number("pressure-watch", "months"), number("iats-glaucoma-2021", "glaucoma_by_ten")
    if f.pressure_last_on is not None and completed_months(f.pressure_last_on, f.today) < every.value:
        return
    text = msg(
        "Pressure of an operated eye: none recorded within %(months)s, the interval of the first year after surgery. "
        "Glaucoma came to %(risk)s of such eyes in ten years; the watch is for life.",
        months=every.quantity(Unit.MONTHS),
        risk=risk.quantity(Unit.PERCENT),
    )
    tried = (msg("attempted on %(on)s, not obtained", on=f.pressure_tried_on),) if f.pressure_tried_on else ()
    yield Finding("pressure-due", text, Status.weakest(every.status, risk.status), (every.source_key, risk.source_key), working=tried, weight=Weight.CHECK)


def amblyopic_change(f: ReviewFacts) -> Iterator[Finding]:
    """The amblyopic eye since its first reading with this test, against what a retest may give."""
    good = since_baseline(f, f.amblyopic)
    if len(good) < 2 or f.method is None or good[-1].acuity.family is AcuityFamily.LOW_VISION:
        return
    change = change_between(good[0].acuity, good[-1].acuity)
    limit = repeatability(f.method)
    params: dict[str, Param] = {"change": change, "on": good[0].on, "way": _way(change.value)}
    if limit is None:
        text = msg("Amblyopic eye %(way)s, %(change)s since %(on)s; how far a retest with this test may differ was not found published.", **params)
        yield Finding("amblyopic-change", text, Status.DERIVED, value=change)
        return
    beyond = abs(change.value) > limit + _TOLERANCE
    params["limit"] = Quantity(limit, Unit.LOGMAR)
    text = (
        msg("Amblyopic eye %(way)s, %(change)s since %(on)s: more than a retest may differ (±%(limit)s).", **params)
        if beyond
        else msg("Amblyopic eye %(way)s, %(change)s since %(on)s: within what a retest may differ (±%(limit)s).", **params)
    )
    yield Finding("amblyopic-change", text, Status.READ, ("holmes-2001",), change)


def _way(change: float) -> Message:
    """Worse is up, in logMAR and in octaves lost alike."""
    if abs(change) <= _TOLERANCE:
        return msg("unchanged")
    return msg("worse") if change > 0 else msg("better")


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


def adaptation_done(f: ReviewFacts) -> Iterator[Finding]:
    """Glasses for the sixteen weeks of ATS5 (read)."""
    first = number("ats5", "spectacles_first")
    if f.phase is Phase.REFRACTIVE_ADAPTATION and f.adaptation_weeks is not None and f.adaptation_weeks >= first.value:
        text = msg(
            "Glasses for %(worn)s: refractive adaptation has had its %(first)s.",
            worn=Quantity(f.adaptation_weeks, Unit.WEEKS),
            first=first.quantity(Unit.WEEKS),
        )
        yield Finding("adaptation-done", text, first.status, (first.source_key,), weight=Weight.CHECK)


def resolved_visits(f: ReviewFacts) -> int:
    """How many of the latest dates in a row had both eyes within the resolved difference; two tests on one day are one date.

    None while the fellow eye has lost: a difference that shrank because the better eye fell is no success.
    """
    if fellow_eye_lost(f):
        return 0
    within = number("cotter-2006", "resolved_within").value + _TOLERANCE
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
