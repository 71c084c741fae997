"""A review: everything that asks for attention, and the one proposal it settles into."""

from collections.abc import Mapping

from shared.course import fellow_eye, follow_up, harm, prompts, wear_rules
from shared.course.before_more import first_open, taken
from shared.course.review_facts import ReviewFacts
from shared.dates import completed_months
from shared.findings import Finding, Message, Unit, Weight, msg
from shared.growing.growth_course import growth_outside_band, lens_off_expected
from shared.optics.ledger import ledger_findings
from shared.sources import number
from shared.treatment.protocol_rows import row
from shared.vocabulary import Aetiology, Phase, Status

Found = Mapping[str, Finding]  # by rule; of a rule that spoke of both eyes, the first


def findings(f: ReviewFacts) -> tuple[Finding, ...]:
    """Everything that asks for attention by a rule that the clinic has not switched off, the weightiest first."""
    found: list[Finding] = [
        *fellow_eye.covered_eye(f),
        *fellow_eye.fellow_eye_loss(f),
        *harm.double_vision(f),
        *harm.axis(f),
        *harm.pressure_high(f),
        *follow_up.changed_eye(f),
        *follow_up.aphakic_uncorrected(f),
        *harm.skin(f),
        *prompts.recurrence(f),
        *follow_up.not_brought(f),
        *follow_up.amblyopic_eye_unsaid(f),
        *follow_up.review_slipped(f),
        *prompts.review_due(f),
        *ledger_findings(f.lens_eyes, f.lenses, f.today),
        *follow_up.lens_off(f),
        *lens_off_expected(f.courses, f.today, f.limits.lens_off_dioptres),
        *growth_outside_band(f.courses),
        *follow_up.lenses_exchanged(f),
        *follow_up.near_added_twice(f),
        *wear_rules.wear(f),
        *wear_rules.over_patching(f),
        *wear_rules.without_correction(f),
        *f.days,
        *prompts.not_working(f),
        *harm.pressure_due(f),
        *prompts.amblyopic_change(f),
        *prompts.outcome(f),
        *prompts.adaptation(f),
        *prompts.resolved(f),
        *follow_up.observation(f),
    ]
    order = list(Weight)
    kept = [finding for finding in found if finding.rule not in f.limits.rules_off]
    return tuple(sorted(kept, key=lambda finding: order.index(finding.weight)))


def settle(f: ReviewFacts) -> Finding:
    """One proposal from all that fired, in the order harm, pressure, image, retest, wear, resolution, plateau; a licensed person decides."""
    if not f.examined:
        text = msg("Nothing is measured: no visit is on record. Examine first; nothing is proposed before that.")
        return Finding("settle-examine-first", text, Status.COMMON_PRACTICE, weight=Weight.ACT)
    proposed = _settle(f, {finding.rule: finding for finding in reversed(findings(f))})
    if proposed.rule not in f.limits.rules_off:
        return proposed
    text = msg("The rule that would speak here, “%(rule)s”, is switched off in this clinic: the clinician's own decision, with its reason.", rule=proposed.rule)
    return Finding("settle-own", text, Status.COMMON_PRACTICE)


def _settle(f: ReviewFacts, found: Found) -> Finding:
    harmed = _harm(f, found)
    if harmed is not None:
        return harmed
    high = found.get("pressure-high")
    if high is not None:
        text = msg("Proposed: have the pressure seen to now, before the treatment of amblyopia is changed in any way.")
        return Finding("settle-pressure-first", text, high.status, high.sources, weight=Weight.ACT)
    if f.phase is Phase.REFRACTIVE_ADAPTATION:
        due = found.get("adaptation-done")
        if due:
            return Finding("settle-occlusion", msg("Proposed: see the occlusion proposal; refractive adaptation has had its time."), due.status, due.sources)
        return Finding("settle-continue", msg("Proposed: continue with glasses alone."), Status.COMMON_PRACTICE)
    if "recurrence" in found:
        text = msg("Proposed: confirm the loss by a retest, then see the occlusion proposal; treatment begins again.")
        return Finding("settle-recurrence", text, found["recurrence"].status, found["recurrence"].sources, weight=Weight.CHECK)
    if f.phase is Phase.ATROPINE:
        text = msg("Proposed: look at both eyes, then go on with the drops, change to a patch or stop; the prescriber decides.")
        return Finding("settle-atropine", text, Status.COMMON_PRACTICE)
    if f.phase is not Phase.OCCLUSION:
        return Finding("settle-none", msg("No occlusion is in force: see the proposal if treatment shall begin again."), Status.COMMON_PRACTICE)
    first = _image(found) or _retest(found) or _wear_first(found)
    if first is not None:
        return first
    return _settle_deprivation(f) if f.aetiology is Aetiology.DEPRIVATION else _settle_trials(f, found)


def _harm(f: ReviewFacts, found: Found) -> Finding | None:
    """What stops the patch or the drops for now."""
    drops = f.phase is Phase.ATROPINE
    for rule in ("fellow-eye-two-lines", "fellow-eye-category"):
        if rule in found:
            text = msg("Proposed: pause the patch and re-examine the fellow eye before anything else.")
            if drops:
                text = msg("Proposed: pause the drops, and re-examine the fellow eye before anything else once the last drop has worn off.")
            return Finding("settle-pause", text, found[rule].status, found[rule].sources, weight=Weight.ACT)
    for rule in ("double-vision", "new-deviation", *(() if drops else ("skin-sore",))):
        if rule in found:
            text = msg("Proposed: stop the patch for the time being. %(why)s", why=found[rule].message)
            if drops:
                text = msg("Proposed: stop the drops for the time being. %(why)s", why=found[rule].message)
            return Finding("settle-stop-for-now", text, found[rule].status, found[rule].sources, weight=Weight.ACT)
    return None


def _image(found: Found) -> Finding | None:
    """No dose without a focused image on a clear axis."""
    if "axis-first" in found:
        text = msg("Proposed: have the axis cleared before anything is asked of this eye.")
        return Finding("settle-axis-first", text, Status.COMMON_PRACTICE, weight=Weight.ACT)
    if "aphakic-uncorrected" in found or "operated-no-correction" in found:
        text = msg("Proposed: sign a correction first; without a focused image no hour is treatment.")
        return Finding("settle-correction-first", text, Status.COMMON_PRACTICE, weight=Weight.ACT)
    return None


def _retest(found: Found) -> Finding | None:
    """No dose goes on or up over a fellow eye that fell on cards: an octave is three lines of a chart."""
    lost = found.get("fellow-eye-grating")
    if lost is None:
        return None
    text = msg("Proposed: measure the fellow eye again before the next plan is signed; a loss that is confirmed pauses the patch.")
    return Finding("settle-retest", text, lost.status, lost.sources, weight=Weight.CHECK)


def _wear_first(found: Found) -> Finding | None:
    """Not worn or not known: nothing can be said of hours that were not worn, or that nobody spoke of."""
    if "wear-not-known" in found:
        text = msg("Proposed: keep the dose and ask what was worn; nothing was noted on most days.")
    elif "wear-low" in found:
        text = msg("Proposed: keep the dose and see what stands in the way of wear; the vision gained says nothing of hours that were not worn.")
    else:
        return None
    return Finding("settle-wear-first", text, Status.COMMON_PRACTICE)


def _settle_deprivation(f: ReviewFacts) -> Finding:
    if not f.dose_published:
        text = msg("No dose is published for this child now: the clinician's own decision, with its reason.")
        return Finding("settle-own", text, Status.COMMON_PRACTICE)
    return Finding("settle-age-rule", msg("Proposed: continue by the age rule; the new plan works the months out."), Status.READ, ("iats-patching",))


def _settle_trials(f: ReviewFacts, found: Found) -> Finding:
    stable = number("aao-ppp-2022", "stable_visits")
    if "resolved" in found and prompts.resolved_visits(f) >= stable.value:
        return _taper(f)
    if "resolved" in found:
        text = msg("Proposed: continue and confirm at one more visit, then taper.")
        return Finding("settle-confirm", text, stable.status, (stable.source_key, "cotter-2006"))
    since = prompts.plateau_from(f)
    if "not-working" not in found or since is None:
        return Finding("settle-continue", msg("Proposed: continue the dose."), Status.COMMON_PRACTICE)
    return first_open(f, since) or _step_up(f, taken(f, since))


def _step_up(f: ReviewFacts, done: tuple[Message, ...]) -> Finding:
    more = number("ats15", "hours_up_to")
    if f.minutes_per_day >= more.value * 60:
        text = msg("No gain at the highest dose with a published step: look for another cause before anything else.")
        return Finding("settle-look-for-cause", text, Status.COMMON_PRACTICE, working=done)
    if f.born_on is None or not row("step-up-six-hours").takes(f.aetiology, completed_months(f.born_on, f.today), None):
        text = msg(
            "Stable with a deficit left. The published step up was tried from %(youngest)s to under %(below)s, after anisometropia or strabismus: "
            "here it is the clinician's own decision, with its reason.",
            youngest=number("ats15", "youngest").quantity(Unit.YEARS),
            below=number("ats15", "below_age").quantity(Unit.YEARS),
        )
        return Finding("settle-own", text, Status.COMMON_PRACTICE, working=done)
    text = msg(
        "Proposed: up to %(hours)s a day, then a review in %(weeks)s; stable with a deficit left, and nothing else explains it.",
        hours=more.quantity(Unit.HOURS),
        weeks=number("ats15", "weeks").quantity(Unit.WEEKS),
    )
    return Finding("settle-step-up", text, more.status, (more.source_key,), more.quantity(Unit.HOURS), done)


def _taper(f: ReviewFacts) -> Finding:
    high, step = number("ats2c", "from_hours"), number("ats2c", "step_hours")
    if f.minutes_per_day < high.value * 60:
        return Finding(
            "settle-taper",
            msg("Proposed: taper and stop; stable at its best over two visits. Watch for recurrence for a year."),
            Status.READ_SECONDHAND,
            ("aao-ppp-2022",),
        )
    return Finding(
        "settle-taper",
        msg(
            "Proposed: down to %(step)s a day before stopping. "
            "Within a year %(abrupt)s lost ground after an abrupt stop from %(high)s or more, %(tapered)s after a step down.",
            step=step.quantity(Unit.HOURS),
            high=high.quantity(Unit.HOURS),
            abrupt=number("ats2c", "recurrence_abrupt").quantity(Unit.PERCENT),
            tapered=number("ats2c", "recurrence_tapered").quantity(Unit.PERCENT),
        ),
        Status.weakest(step.status, Status.READ_SECONDHAND),
        ("ats2c", "aao-ppp-2022"),
        step.quantity(Unit.HOURS),
    )
