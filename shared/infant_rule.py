"""The infant rule: unilateral deprivation, operated at 1 to 6 completed months (Infant Aphakia Treatment Study)."""

from dataclasses import replace

from shared.cautions import PATCHING
from shared.dose import MONTHS_A_YEAR, NoPublishedDose, OcclusionFacts, Proposal, dose, hours_of
from shared.findings import Message, Quantity, Unit, msg
from shared.rounding import round_half_up
from shared.sources import Published, number
from shared.vocabulary import Status

TERM_WEEKS = 40  # by convention
HALF_OF_WAKING = "infant-half-of-waking-hours"


def propose(f: OcclusionFacts) -> Proposal | NoPublishedDose:
    """One hour a day per completed month until eight months, then half of the waking hours until five years."""
    refusal = _outside_infant_rule(f)
    if refusal is not None:
        return NoPublishedDose(refusal, ("iats-patching", "iats-design"))
    weeks = number("postoperative-visits", "weeks_first_year" if f.age_months < MONTHS_A_YEAR else "weeks_later")
    found = _by_month(f, weeks) if f.age_months < number("iats-patching", "until_month").value else _half_waking(f, weeks)
    return replace(found, cautions=(*_born_early(f), *found.cautions))


def _born_early(f: OcclusionFacts) -> tuple[Message, ...]:
    """The trial took infants born at 36 weeks or later (read); the rule is given to others with that said."""
    youngest = number("iats-design", "born_from_week")
    if f.weeks_premature <= TERM_WEEKS - youngest.value:
        return ()
    born = msg(
        "Born %(early)s early: the infant trial took children born at %(youngest)s or later, so its rule was not tried on one like this.",
        early=Quantity(f.weeks_premature, Unit.WEEKS),
        youngest=youngest.quantity(Unit.WEEKS),
    )
    return (born,)


def _outside_infant_rule(f: OcclusionFacts) -> Message | None:
    first, below = number("iats-design", "surgery_from_month").value, number("iats-design", "surgery_below_month").value
    last_year = number("iats-patching", "until_year").value
    if not f.amblyopic_eye_status.operated:
        return msg("The infant rule is for an eye that was operated; this one is phakic.")
    if f.fellow_eye_status.operated:
        return msg("The infant rule is for one operated eye; here both are, and neither is the better one by rule.")
    assert f.age_at_surgery_months is not None
    if not first <= f.age_at_surgery_months < below:
        return msg(
            "The infant rule's children were operated at %(first)s to under %(below)s months; this one at %(age)s.",
            first=int(first),
            below=int(below),
            age=f.age_at_surgery_months,
        )
    if f.age_months < 1:
        return msg("The infant rule starts at one completed month.")
    if f.age_months >= last_year * MONTHS_A_YEAR:
        return msg("The infant rule's protocol ended at %(years)s years.", years=int(last_year))
    return None


def _by_month(f: OcclusionFacts, weeks: Published) -> Proposal:
    per_month, until = number("iats-patching", "hours_per_month_of_age"), number("iats-patching", "until_month")
    minutes = int(round_half_up(per_month.value * 60 * f.age_months))
    working = (
        msg("%(hours)s a day for each completed month of age (chronological; no correction for prematurity is stated)", hours=per_month.quantity(Unit.HOURS)),
        msg("%(age)s completed months × %(hours)s = %(dose)s a day", age=f.age_months, hours=per_month.quantity(Unit.HOURS), dose=hours_of(minutes)),
    )
    cautions = PATCHING
    if f.age_months == int(until.value) - 1:
        cautions = (
            msg(
                "At %(until)s months the published rule falls to half of the waking hours, usually less than the month before. Tell the family.",
                until=int(until.value),
            ),
            *PATCHING,
        )
    text = msg("Operated for unilateral cataract, %(age)s completed months: %(dose)s a day.", age=f.age_months, dose=hours_of(minutes))
    return dose(
        "infant-by-completed-month", minutes, weeks, text, Status.weakest(per_month.status, until.status), ("iats-patching", "iats-design"), working, cautions
    )


def _half_waking(f: OcclusionFacts, weeks: Published) -> Proposal:
    share = number("iats-patching", "waking_share_after")
    sources, statuses = ["iats-patching", "iats-design"], [share.status, number("iats-patching", "until_year").status]
    if f.waking_hours is not None:
        waking, how = f.waking_hours, msg("waking hours %(hours)s, as the family says", hours=Quantity(f.waking_hours, Unit.HOURS))
    else:
        waking, how = _waking_hours(f.age_months)
        sources.append("galland-2012")
        statuses += [number("galland-2012", "slope").status, Status.DERIVED]  # age in years is our reading of the equation
    minutes = int(round_half_up(share.value * waking * 60))
    percent = Quantity(share.value * 100, Unit.PERCENT)
    working = (how, msg("%(share)s of %(waking)s = %(dose)s a day", share=percent, waking=Quantity(waking, Unit.HOURS), dose=hours_of(minutes)))
    text = msg("Operated for unilateral cataract, from eight months on: half of the waking hours, %(dose)s a day.", dose=hours_of(minutes))
    return dose(HALF_OF_WAKING, minutes, weeks, text, Status.weakest(*statuses), tuple(sources), working, PATCHING)


def _waking_hours(age_months: int) -> tuple[float, Message]:
    """24 h less the mean sleep of Galland 2012: 10.49 - 5.56 ((age/10)^0.5 - 0.71) h, age in years, 0 to 12 years."""
    a, b, c = (number("galland-2012", name).value for name in ("intercept", "slope", "offset"))
    sleep = a - b * ((age_months / MONTHS_A_YEAR / 10) ** 0.5 - c)
    step = msg(
        "waking hours 24 h − sleep %(sleep)s = %(waking)s (mean sleep at %(age)s months by the equation)",
        sleep=Quantity(sleep, Unit.HOURS),
        waking=Quantity(24 - sleep, Unit.HOURS),
        age=age_months,
    )
    return 24 - sleep, step
