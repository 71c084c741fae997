"""What one published way of treating amblyopia says, as a row: for whom, how much, on which days, what must hold first and what comes next."""

from dataclasses import dataclass
from enum import StrEnum

from shared.findings import Message, Quantity, Unit, msg
from shared.sight.bands import AcuityBand
from shared.sources import Published, number
from shared.treatment.protocol_words import Pattern
from shared.vocabulary import Aetiology, Phase, Status


class Use(StrEnum):
    """When a row is the answer. An alternative is shown beside the answer and never is it."""

    START = "start"
    STEP_UP = "step-up"
    TAPER = "taper"
    ALTERNATIVE = "alternative"


class Basis(StrEnum):
    """What a row's amount is of: hours a day, hours a day for each month of age, or a share of the waking hours (1 is all of them)."""

    A_DAY = "a-day"
    PER_MONTH_OF_AGE = "per-month-of-age"
    SHARE_OF_WAKING = "share-of-waking"


@dataclass(frozen=True)
class Row:
    """One published rule. Ages in completed months, half-open; `band` None: whatever the acuity; `amount` None: no hours belong to it.

    `reviews` are intervals in weeks, each from a month of age on; `longest` is how long the trial itself ran. `next_step` (after a plateau) and
    `before_stopping` name rows; `beside` are publications of which only a caution, or the waking hours, speak.
    """

    rule: str
    title: Message
    use: Use
    phase: Phase
    aetiologies: frozenset[Aetiology]
    from_month: float
    below_month: float
    sources: tuple[str, ...]
    status: Status
    band: AcuityBand | None = None
    amount: Published | None = None
    basis: Basis = Basis.A_DAY
    pattern: Pattern = Pattern.DAILY
    near_work: Published | None = None
    first: tuple[Message, ...] = ()
    reviews: tuple[tuple[float, Published], ...] = ()
    longest: Published | None = None
    next_step: str | None = None
    before_stopping: str | None = None
    stop: Message | None = None
    ceiling: Published | None = None
    remark: Message | None = None
    beside: tuple[str, ...] = ()

    @property
    def publications(self) -> tuple[str, ...]:
        """Every publication from which something of the row comes, its own first; each once."""
        numbers = (self.amount, self.near_work, self.longest, self.ceiling, *(interval for _, interval in self.reviews))
        return tuple(dict.fromkeys((*self.sources, *(n.source_key for n in numbers if n), *self.beside)))

    def takes(self, aetiology: Aetiology, age_months: int, line: float | None) -> bool:
        """Whether the row's children are like this one; `line` is the amblyopic eye's line of the chart in logMAR, None where none was measured."""
        fits = self.band is None or line is None or self.band.holds(line)
        return aetiology in self.aetiologies and self.from_month <= age_months < self.below_month and fits

    def hours(self, age_months: int, waking_hours: float | None) -> float | None:
        """Hours on a day of the pattern; None where the row has no hours, or asks for a share of waking hours that are not known."""
        if self.amount is None:
            return None
        if self.basis is Basis.PER_MONTH_OF_AGE:
            return self.amount.value * age_months
        if self.basis is Basis.SHARE_OF_WAKING:
            return None if waking_hours is None else self.amount.value * waking_hours
        return self.amount.value

    def review(self, age_months: int) -> Published | None:
        """The interval in weeks at a completed month of age; None where the publication gives none."""
        return next((interval for from_month, interval in reversed(self.reviews) if from_month <= age_months), None)

    def review_weeks(self, age_months: int) -> int | None:
        """The interval in whole weeks; one of weeks per year of age is at least a week and no longer than its cap, which is from memory too."""
        interval = self.review(age_months)
        if interval is None or interval.unit == "weeks":
            return None if interval is None else int(interval.value)
        return int(max(1.0, min(number("full-time-review", "most_weeks").value, interval.value * (age_months // 12))))

    @property
    def spoken_amount(self) -> Message | None:
        """The amount in words, with its pattern left out."""
        if self.amount is None:
            return None
        if self.basis is Basis.SHARE_OF_WAKING:
            return msg("%(share)s of the waking hours", share=Quantity(self.amount.value * 100, Unit.PERCENT))
        hours = self.amount.quantity(Unit.HOURS)
        return msg("%(hours)s a day for each month of age", hours=hours) if self.basis is Basis.PER_MONTH_OF_AGE else msg("%(hours)s a day", hours=hours)
