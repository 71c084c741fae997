"""Where the refraction of an aphakic eye is going, with a band: published rates, each at its own plane and age. Powers in D, ages in years from days."""

import math
from dataclasses import dataclass
from datetime import date

from shared.dates import month_on
from shared.errors import ClinicalInputError
from shared.findings import Message, Unit, msg
from shared.growing.log_growth import shifted
from shared.growing.log_growth import spread as between_eyes
from shared.optics.biometry import check_between, moore_fall
from shared.optics.planes import PlaneRefraction, RefractionPlane
from shared.sources import number, table
from shared.vocabulary import Status

MEASUREMENT_SD_DIOPTRES = 0.5  # of one refraction of a small child, at spectacles: assumed, no source
BAND_OF_NINETEEN_IN_TWENTY = 1.96


@dataclass(frozen=True)
class GrowingEye:
    """An eye whose own lens was removed, before or after six months of age; `bilateral` where the other one is aphakic too."""

    operated_later: bool
    bilateral: bool


def operated_later(born_on: date, operated_on: date) -> bool:
    """After six months of age, by the calendar (McClatchey and Parks 1997). Raises `ClinicalInputError` naming `operated_on` before birth."""
    if operated_on < born_on:
        raise ClinicalInputError("operated_on", msg("%(on)s lies before the date of birth, %(born_on)s.", on=operated_on, born_on=born_on))
    return operated_on > month_on(born_on, int(number("mcclatchey-parks-1997", "later_after_month").value))


@dataclass(frozen=True)
class Refracted:
    """A refraction of an aphakic eye at an age in years, at its plane."""

    years: float
    refraction: PlaneRefraction


@dataclass(frozen=True)
class Rate:
    """How an eye's refraction at spectacles falls with the logarithm of age, in D per tenfold age; `spread` is its standard deviation between eyes."""

    per_tenfold_age: float
    spread: float
    status: Status
    sources: tuple[str, ...]


def log_age_from_year() -> float:
    """The age in years below which the logarithm of age does not serve (McClatchey and Hofmeister 2010, read)."""
    return number("mcclatchey-hofmeister-2010", "log_age_from_month").value / 12


def last_year() -> float:
    """The age in years to which aphakic eyes were followed (Infant Aphakia Treatment Study 2021, read)."""
    return table("iats-refraction-2021", "yearly_fall").rows[-1][1]


def rate_of(eye: GrowingEye) -> Rate:
    """-5.5 (SD 3.8) D per tenfold age; after surgery beyond six months -7.7 unilateral, -5.7 bilateral (McClatchey and Parks 1997, read).

    The spread of the later groups was not printed apart; that of all eyes stands in for it (derived).
    """
    every, spread = number("mcclatchey-parks-1997", "rate"), number("mcclatchey-parks-1997", "spread")
    if not eye.operated_later:
        return Rate(every.value, spread.value, Status.weakest(every.status, spread.status), (every.source_key,))
    later = number("mcclatchey-parks-1997", "rate_later_bilateral") if eye.bilateral else number("mcclatchey-parks-1997", "rate_later_unilateral")
    return Rate(later.value, spread.value, Status.weakest(later.status, Status.DERIVED), (later.source_key,))


def by_log_age(start: PlaneRefraction, rate: Rate, from_years: float, to_years: float) -> float:
    """The refraction at spectacles in D at a later age: R + rate x log10(a2 / a1), ages in years (McClatchey and Parks 1997).

    Raises `ClinicalInputError` naming `plane` for another plane, `age_years` outside three months to 10.5 years.
    """
    power = start.required_at(RefractionPlane.SPECTACLES)
    for years in (from_years, to_years):
        check_between("age_years", years, (log_age_from_year(), last_year()), Unit.YEARS, msg("the ages of this rate"))
    return shifted(power, from_years, to_years, rate.per_tenfold_age)


def by_months(start: PlaneRefraction, from_months: float, to_months: float) -> float:
    """The power at the cornea in D at a later age of 1 to 24 months, unilateral aphakia (Moore 1989).

    Raises `ClinicalInputError` naming `plane` for another plane, `age_months` outside.
    """
    return start.required_at(RefractionPlane.CORNEA) - moore_fall(from_months, to_months)


def by_years(start: PlaneRefraction, from_years: float, to_years: float) -> float:
    """The refraction at spectacles in D at a later age by the trial's yearly falls, one month to 10.5 years (Infant Aphakia Treatment Study 2021, read).

    Raises `ClinicalInputError` naming `plane` for another plane, `age_years` outside.
    """
    power, first = start.required_at(RefractionPlane.SPECTACLES), number("iats-design", "surgery_from_month").value / 12
    for years in (from_years, to_years):
        check_between("age_years", years, (first, last_year()), Unit.YEARS, msg("the ages of this course"))
    rows = table("iats-refraction-2021", "yearly_fall").rows
    return power - sum(fall * max(0.0, min(to_years, until) - max(from_years, begin)) for begin, until, fall in rows)


@dataclass(frozen=True)
class Band:
    """Least, likely and most, in D at one plane."""

    low: float
    likely: float
    high: float


@dataclass(frozen=True)
class Forecast:
    """The refraction of an eye at an age in years. `growth_sd` is the spread between eyes that grow, in D at spectacles; none at the measurement."""

    years: float
    likely: PlaneRefraction
    growth_sd: float
    status: Status
    sources: tuple[str, ...]
    working: tuple[Message, ...]

    @property
    def sd(self) -> float:
        """Of the forecast, in D at spectacles: growth, and the assumed error of the refraction it starts from."""
        return math.hypot(self.growth_sd, MEASUREMENT_SD_DIOPTRES)

    def band(self, plane: RefractionPlane) -> Band:
        """Nineteen of twenty, in D at a plane; each end is moved by itself, so that at the cornea the band is skewed. Raises naming `sphere`."""
        return self._band(plane, BAND_OF_NINETEEN_IN_TWENTY * self.sd)

    def growing(self, plane: RefractionPlane, spreads: float) -> float:
        """The power in D at a plane of an eye that grows some standard deviations faster than likely (slower: below 0). Raises naming `sphere`."""
        return self._at(plane, self.likely.power - spreads * self.growth_sd)

    def _band(self, plane: RefractionPlane, half: float) -> Band:
        return Band(*(self._at(plane, self.likely.power + off) for off in (-half, 0.0, half)))

    def _at(self, plane: RefractionPlane, power: float) -> float:
        return PlaneRefraction(power, RefractionPlane.SPECTACLES, self.likely.vertex_distance_mm).at(plane).power


def forecast(eye: GrowingEye, start: Refracted, years: float) -> Forecast:
    """The refraction of an aphakic eye at a later age, from one that was measured (D): by months at the cornea up to three, then by the logarithm of age.

    Between the two nothing jumps; the spread of the months was not published, and has the logarithm's share of the fall (derived). Raises
    `ClinicalInputError` naming `years` outside the published: from one month where one eye is aphakic, three where both are, to 10.5 years.
    """
    first, last, border = start.years, years, log_age_from_year()
    youngest = border if eye.bilateral else table("moore-1989", "monthly_fall").rows[0][0] / 12
    whose = msg("what is published where both eyes are aphakic") if eye.bilateral else msg("what is published where one eye is aphakic")
    check_between("years", first, (youngest, last_year()), Unit.YEARS, whose)
    check_between("years", last, (first, last_year()), Unit.YEARS, msg("the published ages after that refraction"))
    rate = rate_of(eye)
    now, growth_sd = start.refraction.at(RefractionPlane.SPECTACLES), 0.0
    sources, status, working = rate.sources, rate.status, []
    if first < border:
        until = min(last, border)
        before, now = now, _at_cornea_by_months(start.refraction, first, until)
        growth_sd = rate.spread / -rate.per_tenfold_age * (before.power - now.power)
        sources, status = ("moore-1989", *sources), Status.weakest(status, Status.DERIVED)
        working.append(msg("to three months of age by the monthly falls at the cornea, with the later rate's share of spread"))
    if last > border:
        begin = max(first, border)
        now = PlaneRefraction(by_log_age(now, rate, begin, last), RefractionPlane.SPECTACLES, now.vertex_distance_mm)
        growth_sd += between_eyes(begin, last, rate.spread)
        working.append(
            msg(
                "%(rate)s D ± %(spread)s × log10 (%(last)s / %(first)s years), at spectacles",
                rate=f"{rate.per_tenfold_age:g}",
                spread=f"{rate.spread:g}",
                first=f"{begin:.2f}",
                last=f"{last:.2f}",
            )
        )
    working.append(msg("band: 1.96 standard deviations of the growth and of one refraction, assumed ±%(sd)s D", sd=f"{MEASUREMENT_SD_DIOPTRES:g}"))
    return Forecast(last, now, growth_sd, Status.weakest(status, Status.COMMON_PRACTICE), sources, tuple(working))


def _at_cornea_by_months(start: PlaneRefraction, from_years: float, to_years: float) -> PlaneRefraction:
    power = by_months(start.at(RefractionPlane.CORNEA), from_years * 12, to_years * 12)
    return PlaneRefraction(power, RefractionPlane.CORNEA, start.vertex_distance_mm).at(RefractionPlane.SPECTACLES)
