"""A review: everything that asks for attention, and the one proposal it settles into."""

from shared import follow_up, prompts
from shared.findings import Finding, Unit, Weight, msg
from shared.ledger import ledger_findings
from shared.review_facts import ReviewFacts
from shared.sources import number
from shared.vocabulary import Aetiology, Phase, Status


def findings(f: ReviewFacts) -> tuple[Finding, ...]:
    """Everything that asks for attention, the weightiest first."""
    found: list[Finding] = [
        *prompts.covered_eye(f),
        *prompts.fellow_eye_loss(f),
        *follow_up.changed_eye(f),
        *follow_up.aphakic_uncorrected(f),
        *follow_up.not_brought(f),
        *follow_up.amblyopic_eye_unsaid(f),
        *follow_up.review_slipped(f),
        *prompts.review_due(f),
        *ledger_findings(f.lens_eyes, f.lenses, f.today),
        *follow_up.lenses_exchanged(f),
        *follow_up.near_added_twice(f),
        *prompts.wear(f),
        *prompts.not_working(f),
        *prompts.pressure_due(f),
        *prompts.amblyopic_change(f),
        *prompts.outcome(f),
        *prompts.adaptation_done(f),
        *prompts.resolved(f),
        *follow_up.observation(f),
    ]
    order = list(Weight)
    return tuple(sorted(found, key=lambda finding: order.index(finding.weight)))


def settle(f: ReviewFacts) -> Finding:
    """One proposal from all that fired, in the order harm, wear, resolution, plateau; a licensed person decides. Without a visit there is none."""
    if not f.examined:
        text = msg("Nothing is measured: no visit is on record. Examine first; nothing is proposed before that.")
        return Finding("settle-examine-first", text, Status.COMMON_PRACTICE, weight=Weight.ACT)
    act = next((p for p in prompts.fellow_eye_loss(f) if p.weight is Weight.ACT), None)
    if act:
        return Finding(
            "settle-pause", msg("Proposed: pause the patch and re-examine the fellow eye before anything else."), act.status, act.sources, weight=Weight.ACT
        )
    if f.phase is Phase.REFRACTIVE_ADAPTATION:
        due = next(iter(prompts.adaptation_done(f)), None)
        if due:
            return Finding("settle-occlusion", msg("Proposed: see the occlusion proposal; refractive adaptation has had its time."), due.status, due.sources)
        return Finding("settle-continue", msg("Proposed: continue with glasses alone."), Status.COMMON_PRACTICE)
    if f.phase is not Phase.OCCLUSION:
        return Finding("settle-none", msg("No occlusion is in force: see the proposal if treatment shall begin again."), Status.COMMON_PRACTICE)
    if f.aetiology is Aetiology.DEPRIVATION:
        return _settle_deprivation(f)
    return _settle_trials(f)


def _settle_deprivation(f: ReviewFacts) -> Finding:
    low = _wear_first(f)
    if low is not None:
        return low
    if not f.dose_published:
        text = msg("No dose is published for this child now: the clinician's own decision, with its reason.")
        return Finding("settle-own", text, Status.COMMON_PRACTICE)
    return Finding("settle-age-rule", msg("Proposed: continue by the age rule; the new plan works the months out."), Status.READ, ("iats-patching",))


def _wear_first(f: ReviewFacts) -> Finding | None:
    """Not worn or not known: nothing can be said of hours that were not worn, or that nobody spoke of."""
    low = next(prompts.wear(f), None)
    if low is None:
        return None
    text = (
        msg("Proposed: keep the dose and ask what was worn; nothing was noted on most days.")
        if low.rule == "wear-not-known"
        else msg("Proposed: keep the dose and see what stands in the way of wear; the vision gained says nothing of hours that were not worn.")
    )
    return Finding("settle-wear-first", text, low.status)


def _settle_trials(f: ReviewFacts) -> Finding:
    low = _wear_first(f)
    if low is not None:
        return low
    stable = number("aao-ppp-2022", "stable_visits")
    if prompts.resolved_visits(f) >= stable.value:
        return _taper(f)
    if list(prompts.resolved(f)):
        text = msg("Proposed: continue and confirm at one more visit, then taper.")
        return Finding("settle-confirm", text, stable.status, (stable.source_key, "cotter-2006"))
    stuck, more = next(prompts.not_working(f), None), number("ats15", "hours_up_to")
    if stuck is None:
        return Finding("settle-continue", msg("Proposed: continue the dose."), Status.COMMON_PRACTICE)
    if f.minutes_per_day >= more.value * 60:
        text = msg("No gain at the highest dose with a published step: look for another cause before anything else.")
        return Finding("settle-look-for-cause", text, Status.COMMON_PRACTICE)
    text = msg(
        "Proposed, after retest, refraction and correction, clear axis, pressure, and wear: up to %(hours)s a day; stable with a deficit left.",
        hours=more.quantity(Unit.HOURS),
    )
    return Finding("settle-step-up", text, more.status, (more.source_key,), more.quantity(Unit.HOURS))


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
