"""The infant rule: unilateral deprivation, operated at 1 to 6 completed months (Infant Aphakia Treatment Study)."""

from dataclasses import replace

from shared.dates import MONTHS_A_YEAR
from shared.findings import Message, Quantity, Unit, msg
from shared.rounding import round_half_up
from shared.sources import number
from shared.treatment.cautions import PATCHING
from shared.treatment.dose import NoPublishedDose, OcclusionFacts, Proposal, dose, hours_of
from shared.treatment.protocol import Row
from shared.treatment.protocol_rows import start
from shared.treatment.waking import waking
from shared.vocabulary import Aetiology, Status

TERM_WEEKS = 40  # by convention
HALF_OF_WAKING = "infant-half-of-waking-hours"


def propose(f: OcclusionFacts) -> Proposal | NoPublishedDose:
    """One hour a day per completed month until eight months, then half of the waking hours until five years."""
    refusal = _outside_infant_rule(f)
    if refusal is not None:
        return NoPublishedDose(refusal, ("iats-patching", "iats-design"))
    row = start(Aetiology.DEPRIVATION, f.age_months)
    assert row is not None
    found = _half_waking(f, row) if row.rule == HALF_OF_WAKING else _by_month(f, row)
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


def _by_month(f: OcclusionFacts, row: Row) -> Proposal:
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
    return dose(row, minutes, f.age_months, text, row.status, working, cautions)


def _half_waking(f: OcclusionFacts, row: Row) -> Proposal:
    share, awake = number("iats-patching", "waking_share_after"), waking(f.age_months, f.waking_hours)
    minutes = int(round_half_up(share.value * awake.hours * 60))
    percent = Quantity(share.value * 100, Unit.PERCENT)
    working = (*awake.steps, msg("%(share)s of %(waking)s = %(dose)s a day", share=percent, waking=Quantity(awake.hours, Unit.HOURS), dose=hours_of(minutes)))
    text = msg("Operated for unilateral cataract, from eight months on: half of the waking hours, %(dose)s a day.", dose=hours_of(minutes))
    cautions = (awake.caution, *PATCHING) if awake.caution else PATCHING
    found = dose(row, minutes, f.age_months, text, Status.weakest(row.status, awake.status), working, cautions)
    return replace(found, finding=replace(found.finding, sources=(*row.sources, *awake.sources)))
