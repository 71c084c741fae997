"""Waking hours: as the family says, else 24 h less the mean sleep of the published equation; beside either the range a consensus gives."""

from dataclasses import dataclass

from shared.dates import MONTHS_A_YEAR
from shared.errors import ClinicalInputError
from shared.findings import Message, Quantity, Unit, msg
from shared.sources import number, table
from shared.vocabulary import Status

LIMITS_HOURS = (4.0, 20.0)


@dataclass(frozen=True)
class WakingRange:
    """Waking hours a day from `least` to `most`: 24 h less the recommended sleep."""

    least: float
    most: float
    status: Status


@dataclass(frozen=True)
class Waking:
    """Waking hours a day, how they came about, and whether they lie in the range of the consensus (None: it says nothing at this age)."""

    hours: float
    how: Message
    status: Status
    sources: tuple[str, ...]
    range: WakingRange | None

    @property
    def steps(self) -> tuple[Message, ...]:
        """How the hours came about, and beside them the range."""
        if self.range is None:
            return (self.how,)
        least, most = Quantity(self.range.least, Unit.HOURS), Quantity(self.range.most, Unit.HOURS)
        return self.how, msg("recommended at this age: %(least)s to %(most)s awake (AASM 2016, 24 h less the sleep)", least=least, most=most)

    @property
    def caution(self) -> Message | None:
        """Said where the hours lie outside the range."""
        if self.range is None or self.range.least <= self.hours <= self.range.most:
            return None
        return msg(
            "%(hours)s awake lies outside what is recommended at this age, %(least)s to %(most)s (AASM 2016): ask the family again.",
            hours=Quantity(self.hours, Unit.HOURS),
            least=Quantity(self.range.least, Unit.HOURS),
            most=Quantity(self.range.most, Unit.HOURS),
        )


def waking(age_months: int, said_hours: float | None = None) -> Waking:
    """Waking hours a day at a completed month of age; `said_hours` are the family's own and come first.

    sleep = 10.49 - 5.56 ((age/10)^0.5 - 0.71) h (Galland 2012), age in years, 0 to 12 years; the reading of the age is derived.
    Raises `ClinicalInputError` naming `waking_hours` or `age_months`.
    """
    if said_hours is not None:
        check_said(said_hours)
        how = msg("waking hours %(hours)s, as the family says", hours=Quantity(said_hours, Unit.HOURS))
        return Waking(said_hours, how, Status.READ, (), waking_range(age_months))
    oldest = number("galland-2012", "oldest")
    if not 0 <= age_months <= oldest.value * MONTHS_A_YEAR:
        text = msg("The sleep equation is for 0 to %(oldest)s: please ask the family for the waking hours.", oldest=oldest.quantity(Unit.YEARS))
        raise ClinicalInputError("age_months", text)
    a, b, c = (number("galland-2012", "intercept").value, number("galland-2012", "slope").value, number("galland-2012", "offset").value)
    sleep = a - b * ((age_months / MONTHS_A_YEAR / 10) ** 0.5 - c)
    how = msg(
        "waking hours 24 h − sleep %(sleep)s = %(waking)s (mean sleep at %(age)s months by the equation)",
        sleep=Quantity(sleep, Unit.HOURS),
        waking=Quantity(24 - sleep, Unit.HOURS),
        age=age_months,
    )
    return Waking(24 - sleep, how, Status.DERIVED, ("galland-2012",), waking_range(age_months))


def check_said(hours: float) -> None:
    """Raises `ClinicalInputError` naming `waking_hours` for hours no child is awake."""
    low, high = LIMITS_HOURS
    if not low <= hours <= high:
        raise ClinicalInputError("waking_hours", msg("Waking hours lie between %(low)s and %(high)s a day.", low=f"{low:g}", high=f"{high:g}"))


def waking_range(age_months: int) -> WakingRange | None:
    """24 h less the sleep recommended at a completed month of age (AASM consensus 2016, read); None below 4 months and from 19 years on."""
    sleep = table("aasm-2016", "sleep")
    for from_month, below_month, least, most in sleep.rows:
        if from_month <= age_months < below_month:
            return WakingRange(24 - most, 24 - least, Status.weakest(sleep.status, Status.DERIVED))
    return None
