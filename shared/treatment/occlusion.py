"""The occlusion dose a publication gives for a child like this one, or the reason why none does. Never extrapolated, never interpolated."""

from dataclasses import replace
from datetime import date

from shared.dates import completed_months, month_on
from shared.errors import ClinicalInputError
from shared.findings import msg
from shared.treatment import infant_rule, trial_rules
from shared.treatment.dose import DatedDose, NoPublishedDose, OcclusionFacts, Proposal
from shared.treatment.protocol_rows import row
from shared.treatment.waking import check_said
from shared.vocabulary import Aetiology, OpticalStatus

OLDEST_MONTHS = 1200


def propose(facts: OcclusionFacts) -> Proposal | NoPublishedDose:
    """The starting dose by the infant rule or the trials, whichever population the child belongs to.

    Raises `ClinicalInputError` naming the field for a missing or impossible fact. Sources: see each rule below.
    """
    _check(facts)
    found = _propose(facts)
    if isinstance(found, Proposal) and found.rule in facts.rules_off:
        return NoPublishedDose(msg("The rule for this child, “%(rule)s”, is switched off in this clinic.", rule=found.row.title), found.finding.sources)
    return found


def _propose(facts: OcclusionFacts) -> Proposal | NoPublishedDose:
    if OpticalStatus.ABSENT in (facts.amblyopic_eye_status, facts.fellow_eye_status):
        return NoPublishedDose(msg("One eye is absent: the other is the only one this child has, and it is not covered."), ())
    if facts.aetiology is Aetiology.DEPRIVATION:
        return infant_rule.propose(facts)
    if facts.aetiology is Aetiology.AMETROPIC:
        return NoPublishedDose(
            msg("Bilateral ametropia is treated with glasses; no occlusion dose is published for it."), ("ats7",), row("bilateral-glasses-alone")
        )
    return trial_rules.propose(facts)


def _check(f: OcclusionFacts) -> None:
    if not 0 <= f.age_months <= OLDEST_MONTHS:
        raise ClinicalInputError("age_months", msg("An age of %(age)s months cannot be.", age=f.age_months))
    if f.age_at_surgery_months is not None and not 0 <= f.age_at_surgery_months <= f.age_months:
        raise ClinicalInputError("age_at_surgery_months", msg("Surgery lies between birth and today: 0 to %(age)s completed months.", age=f.age_months))
    if f.age_at_surgery_months is None and f.aetiology is Aetiology.DEPRIVATION and f.amblyopic_eye_status.operated:
        raise ClinicalInputError("age_at_surgery_months", msg("An operated eye needs its age at surgery, in completed months."))
    if f.waking_hours is not None:
        check_said(f.waking_hours)
    if f.refractive_adaptation_weeks is not None and not 0 <= f.refractive_adaptation_weeks <= f.age_months * 4.5 + 5:
        raise ClinicalInputError("refractive_adaptation_weeks", msg("Glasses were worn for 0 weeks or more, and not for longer than the child has lived."))


def dated_doses(facts: OcclusionFacts, born_on: date, start_on: date, review_on: date) -> tuple[DatedDose, ...]:
    """The minutes of every date in the half-open span as steps, each from its date on.

    The infant rule is asked again at each completed month; the share of the waking hours is worked out at the first date it applies to and held until
    the review; where the rule ends inside the span, the last step is 0. Raises `ClinicalInputError` where nothing is proposed on the first day.
    """
    steps: list[DatedDose] = []
    held: int | None = None
    for on in _boundaries(born_on, start_on, review_on):
        found = propose(replace(facts, age_months=completed_months(born_on, on)))
        if isinstance(found, NoPublishedDose):
            if not steps:
                raise ClinicalInputError("start_on", found.reason)
            minutes = 0
        elif found.rule == infant_rule.HALF_OF_WAKING:
            held = minutes = found.minutes_per_day if held is None else held
        else:
            minutes = found.minutes_per_day
        if not steps or steps[-1].minutes != minutes:
            steps.append(DatedDose(on, minutes))
    return tuple(steps)


def _boundaries(born_on: date, start_on: date, review_on: date) -> list[date]:
    """The first day, and each day of the span on which a month is completed."""
    days = [start_on]
    months = completed_months(born_on, start_on) + 1
    while (day := month_on(born_on, months)) < review_on:
        days.append(day)
        months += 1
    return days
