"""What a dose rule is asked and what it answers."""

from dataclasses import dataclass
from datetime import date

from shared.dates import DAYS_A_WEEK
from shared.errors import ClinicalInputError
from shared.findings import Finding, Message, Quantity, Unit, msg
from shared.sight.acuity import Acuity
from shared.sources import Published
from shared.treatment.protocol import Row
from shared.treatment.protocol_words import Pattern
from shared.vocabulary import Aetiology, OpticalStatus, Phase, Status


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
    rules_off: frozenset[str] = frozenset()  # what this child's clinic has switched off


@dataclass(frozen=True)
class Proposal:
    """A published dose in whole minutes a day (0 in refractive adaptation), the row it is, with sources and working, and the usual cautions."""

    minutes_per_day: int
    row: Row
    review: Published  # the interval in weeks, with a source and status of its own
    finding: Finding
    cautions: tuple[Message, ...]

    @property
    def rule(self) -> str:
        return self.row.rule

    @property
    def phase(self) -> Phase:
        return self.row.phase

    @property
    def review_in_weeks(self) -> int:
        return int(self.review.value)


@dataclass(frozen=True)
class NoPublishedDose:
    """Outside every trial's population; `sources` are the publications whose limits were met, `row` the rule that asks for no patch."""

    reason: Message
    sources: tuple[str, ...] = ()
    row: Row | None = None


@dataclass(frozen=True)
class DatedDose:
    """Minutes a day from a date until the next such date, on the days of its pattern, which is counted from that date.

    `weekdays` (0 is Monday), where there are any, are the only ones it falls on; they take the place of a pattern. Raises `ClinicalInputError`.
    """

    from_on: date
    minutes: int
    pattern: Pattern = Pattern.DAILY
    weekdays: tuple[int, ...] = ()

    def __post_init__(self) -> None:
        if any(not 0 <= day < DAYS_A_WEEK for day in self.weekdays) or list(self.weekdays) != sorted(set(self.weekdays)):
            raise ClinicalInputError("weekdays", msg("Weekdays are numbered from 0, Monday, to 6, each once, in their order."))
        if self.weekdays and self.pattern is not Pattern.DAILY:
            raise ClinicalInputError("weekdays", msg("Choose weekdays, or a pattern that is counted from the first day: not both."))

    @property
    def is_daily(self) -> bool:
        return self.pattern is Pattern.DAILY and not self.weekdays

    def minutes_on(self, day: date) -> int:
        """Minutes of a day from `from_on` on; 0 on a day off."""
        falls = day.weekday() in self.weekdays if self.weekdays else self.pattern.includes(day, self.from_on)
        return self.minutes if falls else 0


def hours_of(minutes: int) -> Quantity:
    """Whole minutes as hours."""
    return Quantity(minutes / 60, Unit.HOURS)


def dose(row: Row, minutes: int, age_months: int, text: Message, status: Status, working: tuple[Message, ...], cautions: tuple[Message, ...]) -> Proposal:
    """An occlusion dose, in whole minutes a day, with everything that belongs beside it; `status` is the row's or a weaker one."""
    review = row.review(age_months)
    assert review is not None
    return Proposal(minutes, row, review, Finding(row.rule, text, status, row.sources, hours_of(minutes), working), cautions)
