"""A review: everything that asks for attention, and the one proposal it settles into."""

from shared import prompts
from shared.findings import Finding, Unit, Weight, msg
from shared.prompts import ReviewFacts
from shared.sources import number
from shared.vocabulary import Aetiology, Phase, Status


def findings(f: ReviewFacts) -> tuple[Finding, ...]:
    """Everything that asks for attention, the weightiest first."""
    found: list[Finding] = [
        *prompts.fellow_eye_loss(f),
        *prompts.review_due(f),
        *prompts.wear(f),
        *prompts.not_working(f),
        *prompts.pressure_due(f),
        *prompts.amblyopic_change(f),
        *prompts.outcome(f),
        *prompts.adaptation_done(f),
        *prompts.resolved(f),
    ]
    order = list(Weight)
    return tuple(sorted(found, key=lambda finding: order.index(finding.weight)))


def settle(f: ReviewFacts) -> Finding:
    """One proposal from all that fired, in the order harm, wear, resolution, plateau; a licensed person decides."""
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
    last = number("iats-patching", "until_year")
    if f.age_months >= last.value * 12:
        text = msg("The age rule ended at %(years)s years: no dose is published; the clinician's own decision, with its reason.", years=int(last.value))
        return Finding("settle-own", text, last.status, (last.source_key,))
    return Finding("settle-age-rule", msg("Proposed: continue by the age rule; the new plan works the months out."), Status.READ, ("iats-patching",))


def _settle_trials(f: ReviewFacts) -> Finding:
    for low in prompts.wear(f):
        return Finding(
            "settle-wear-first",
            msg("Proposed: keep the dose and find out about wear first; the vision gained says nothing of hours that were not worn."),
            low.status,
        )
    stable = number("aao-ppp-2022", "stable_visits")
    if prompts.resolved_visits(f) >= stable.value:
        return _taper(f)
    if list(prompts.resolved(f)):
        return Finding(
            "settle-confirm", msg("Proposed: continue and confirm at one more visit, then taper."), stable.status, (stable.source_key, "cotter-2006")
        )
    stuck = next(iter(prompts.not_working(f)), None)
    more = number("ats15", "hours_up_to")
    if stuck and f.minutes_per_day < more.value * 60:
        return Finding(
            "settle-step-up",
            msg(
                "Proposed, after retest, refraction and correction, clear axis, pressure, and wear: up to %(hours)s a day; stable with a deficit left.",
                hours=more.quantity(Unit.HOURS),
            ),
            more.status,
            (more.source_key,),
            more.quantity(Unit.HOURS),
        )
    return Finding("settle-continue", msg("Proposed: continue the dose."), Status.COMMON_PRACTICE)


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
