"""What a dose rule is asked and what it answers."""

from dataclasses import dataclass
from datetime import date

from shared.acuity import Acuity
from shared.findings import Finding, Message, Quantity, Unit
from shared.sources import Published
from shared.vocabulary import Aetiology, OpticalStatus, Phase, Status

MONTHS_A_YEAR = 12


@dataclass(frozen=True)
class OcclusionFacts:
    """What a rule asks of a child. Ages in completed months, chronological; `refractive_adaptation_weeks` are weeks of glasses really worn."""

    age_months: int
    aetiology: Aetiology
    amblyopic_eye_status: OpticalStatus
    fellow_eye_status: OpticalStatus
    age_at_surgery_months: int | None = None
    amblyopic_acuity: Acuity | None = None
    fellow_acuity: Acuity | None = None
    refractive_adaptation_weeks: float | None = None
    glasses_needed: bool = True
    waking_hours: float | None = None
    weeks_premature: int = 0  # before 40 weeks; no rule subtracts them, but some say whom they were not tried on


@dataclass(frozen=True)
class Proposal:
    """A published dose in whole minutes a day (0 in refractive adaptation), its rule with sources and working, and the usual cautions."""

    minutes_per_day: int
    phase: Phase
    review: Published  # the interval in weeks, with a source and status of its own
    rule: str
    finding: Finding
    cautions: tuple[Message, ...]

    @property
    def review_in_weeks(self) -> int:
        return int(self.review.value)


@dataclass(frozen=True)
class NoPublishedDose:
    """Outside every trial's population; `sources` are the publications whose limits were met."""

    reason: Message
    sources: tuple[str, ...] = ()


@dataclass(frozen=True)
class DatedDose:
    """Minutes a day from a date until the next such date."""

    from_on: date
    minutes: int


def hours_of(minutes: int) -> Quantity:
    """Whole minutes as hours."""
    return Quantity(minutes / 60, Unit.HOURS)


def dose(
    rule: str,
    minutes: int,
    review: Published,
    text: Message,
    status: Status,
    sources: tuple[str, ...],
    working: tuple[Message, ...],
    cautions: tuple[Message, ...],
) -> Proposal:
    """An occlusion dose with everything that belongs beside it."""
    return Proposal(minutes, Phase.OCCLUSION, review, rule, Finding(rule, text, status, sources, hours_of(minutes), working), cautions)
