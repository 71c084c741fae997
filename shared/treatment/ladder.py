"""What stands beside a proposal: the rungs above and below it, and what other publications would do instead. Shown; never signed by default."""

from dataclasses import dataclass, replace

from shared.findings import Finding, Message, Quantity, Unit, msg
from shared.rounding import round_half_up
from shared.sources import number
from shared.treatment import atropine, infant_rule
from shared.treatment.alternative_rows import ALTERNATIVES
from shared.treatment.dose import NoPublishedDose, OcclusionFacts, Proposal
from shared.treatment.protocol import Basis, Row, Use
from shared.treatment.protocol_rows import ROWS, particulars
from shared.treatment.waking import waking
from shared.vocabulary import Aetiology, Phase, Status

WITHOUT_WAITING = "ten-hours-on-six-days"


@dataclass(frozen=True)
class Rung:
    """The row of one band or month, and whole minutes on its days (None: no published row there). `chosen` is the child's own."""

    where: Message
    row: Row | None
    minutes: int | None
    chosen: bool


@dataclass(frozen=True)
class Alternative:
    """Another publication's way with this child: its row, whole minutes on the days of its pattern (None: it has no hours), and what is to be said."""

    row: Row
    minutes: int | None
    finding: Finding


def ladder(f: OcclusionFacts, found: Proposal) -> tuple[Rung, ...]:
    """The rungs from the lowest to the highest: the bands of the trials at this age, or the months before and after by the infant rule."""
    if found.phase is not Phase.OCCLUSION:
        return ()
    if f.aetiology is Aetiology.DEPRIVATION:
        return tuple(_month(f, months) for months in (f.age_months - 1, f.age_months, f.age_months + 1))
    return tuple(_band(row, found) for row in ROWS if row.use is Use.START and row.phase is Phase.OCCLUSION and row.takes(f.aetiology, f.age_months, None))


def _month(f: OcclusionFacts, months: int) -> Rung:
    """Asked of the rule itself, so that where it ends nothing stands."""
    where = msg("at %(age)s", age=Quantity(months, Unit.MONTHS))
    found = infant_rule.propose(replace(f, age_months=months))
    if isinstance(found, NoPublishedDose):
        return Rung(where, None, None, False)
    return Rung(where, found.row, found.minutes_per_day, months == f.age_months)


def _band(row: Row, found: Proposal) -> Rung:
    assert row.band is not None and row.amount is not None
    return Rung(row.band.words, row, int(round_half_up(row.amount.value * 60)), row.rule == found.rule)


def alternatives(f: OcclusionFacts, found: Proposal) -> tuple[Alternative, ...]:
    """Rows that would have it otherwise, as published; minutes a day of the pattern. While glasses are at work, only what would not wait for them."""
    line = None if f.amblyopic_acuity is None else f.amblyopic_acuity.nominal_logmar
    adapting = found.phase is Phase.REFRACTIVE_ADAPTATION
    rows = [r for r in ALTERNATIVES if r.takes(f.aetiology, f.age_months, line) and _differs_enough(f, r) and r.rule not in f.rules_off]
    shown = [_alternative(r, f) for r in rows if not adapting or r.rule == WITHOUT_WAITING]
    drops = () if adapting else atropine.schedules(f)
    return (*shown, *(Alternative(r, None, atropine.finding(r)) for r in drops)) if isinstance(drops, tuple) else tuple(shown)


def _differs_enough(f: OcclusionFacts, row: Row) -> bool:
    """The trial of early patching asked for a larger interocular difference than the others."""
    if row.rule != WITHOUT_WAITING or f.amblyopic_acuity is None or f.fellow_acuity is None:
        return True
    line, other = f.amblyopic_acuity.nominal_logmar, f.fellow_acuity.nominal_logmar
    return line is not None and other is not None and line - other >= number("eupatch", "amblyopia_from").value - 1e-9


def _alternative(row: Row, f: OcclusionFacts) -> Alternative:
    awake = waking(f.age_months, f.waking_hours) if row.basis is Basis.SHARE_OF_WAKING else None
    hours = row.hours(f.age_months, awake.hours if awake else None)
    assert hours is not None and row.spoken_amount is not None and row.remark is not None
    text = msg("%(title)s: %(amount)s, %(days)s. %(remark)s", title=row.title, amount=row.spoken_amount, days=row.pattern, remark=row.remark)
    working = (*(awake.steps if awake else ()), *particulars(row))
    status, sources = (Status.weakest(row.status, awake.status), (*row.sources, *awake.sources)) if awake else (row.status, row.sources)
    return Alternative(row, int(round_half_up(hours * 60)), Finding(row.rule, text, status, sources, Quantity(hours, Unit.HOURS), working))
