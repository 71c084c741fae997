"""Dose and response of one child: this project's OWN model on published points, two of them from memory. A range for children like this one, no promise.

Gain after D hours received in the occlusion phase: A (1 − exp(−s D / A)). A is a share of the deficit at its start, s = 0.1 logMAR / H, and H, the hours
per 0.1 logMAR at the start, grows with age and varies from child to child. Gains are in logMAR, positive is better.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from shared.errors import ClinicalInputError
from shared.findings import Quantity, Unit, msg
from shared.sources import number
from shared.vocabulary import AcuityFamily, Aetiology

LINE_LOGMAR = 0.1
BAND = (0.1, 0.9)  # the edges of an 80 % band
SLOWER_THAN = 0.9  # of the children of one age
MOST_GAIN_LOGMAR, MOST_HOURS = 3.5, 50_000.0  # beyond these something was mistyped
GRID = 41
GRID_SPREADS = 3.0  # the grid reaches this many spreads to either side
UNKNOWN_STEPS = 5  # how finely the hours that nobody noted are integrated over
_NORMAL = NormalDist()
_LIMITS_OF_95_PERCENT = _NORMAL.inv_cdf(0.975)

Values = NDArray[np.float64]


def hours_per_line(age_years: float) -> float:
    """Hours for the first 0.1 logMAR at an age in years: the exponential through two hours of Stewart 2007, both from memory.

    Raises `ClinicalInputError` naming `age_years` below 3 years, where no letters are read, and from 18 years on.
    """
    _check_age(age_years)
    younger, older = number("stewart-2007", "younger_age").value, number("stewart-2007", "older_age").value
    at_younger, at_older = number("stewart-2007", "younger_hours").value, number("stewart-2007", "older_hours").value
    per_line = at_younger * LINE_LOGMAR / number("stewart-2007", "gain").value
    return per_line * math.exp(math.log(at_older / at_younger) / (older - younger) * (age_years - younger))


def score_spread() -> float:
    """Standard deviation of one measured acuity in logMAR: half the 95 % interval of a HOTV score / 1.96 (Holmes 2001, derived)."""
    return number("holmes-2001", "score").value / _LIMITS_OF_95_PERCENT


@dataclass(frozen=True)
class Observed:
    """What a visit showed: the gain since the start in logMAR, and the hours received up to it, at least and at most.

    At least: those reported alone; at most: with the unknown days worn like the known ones. Raises `ClinicalInputError` naming what cannot be.
    """

    gain_logmar: float
    least_hours: float
    most_hours: float

    def __post_init__(self) -> None:
        if not abs(self.gain_logmar) <= MOST_GAIN_LOGMAR:
            raise ClinicalInputError("gain_logmar", msg("A gain of %(gain)s logMAR cannot be.", gain=f"{self.gain_logmar:g}"))
        if not 0 <= self.least_hours <= self.most_hours <= MOST_HOURS:
            text = msg(
                "%(least)s to %(most)s hours cannot be: from 0 upwards, the lower number first.", least=f"{self.least_hours:g}", most=f"{self.most_hours:g}"
            )
            raise ClinicalInputError("least_hours", text)


@dataclass(frozen=True)
class Course:
    """One child's occlusion phase: age in years and deficit in logMAR (amblyopic minus fellow eye, one test) at its start, and each visit since, oldest first.

    Raises `ClinicalInputError` naming `aetiology`, `method`, `age_years`, `deficit_logmar` or `least_hours` outside of what the published points hold for.
    """

    aetiology: Aetiology
    family: AcuityFamily
    age_years: float
    deficit_logmar: float
    observed: tuple[Observed, ...] = ()

    def __post_init__(self) -> None:
        check_cause(self.aetiology)
        check_family(self.family)
        _check_age(self.age_years)
        least = number("wallace-2013", "amblyopia_from").quantity(Unit.LOGMAR)
        if not least.value - 1e-9 <= self.deficit_logmar <= MOST_GAIN_LOGMAR:
            text = msg("No forecast for a deficit of %(deficit)s logMAR: amblyopia begins at %(least)s.", deficit=f"{self.deficit_logmar:.2f}", least=least)
            raise ClinicalInputError("deficit_logmar", text)
        for hours in ([o.least_hours for o in self.observed], [o.most_hours for o in self.observed]):
            if hours != sorted(hours):
                raise ClinicalInputError("least_hours", msg("Hours received are counted from the start: they cannot fall from one visit to the next."))


def check_cause(aetiology: Aetiology) -> None:
    """Raises `ClinicalInputError` naming `aetiology` after deprivation and for bilateral ametropia: the trials took anisometropia, strabismus or both."""
    if aetiology is Aetiology.DEPRIVATION:
        raise ClinicalInputError("aetiology", msg("No forecast after deprivation: the published points exclude it."))
    if aetiology is Aetiology.AMETROPIC:
        raise ClinicalInputError("aetiology", msg("No forecast for bilateral ametropia: the published points are for anisometropia, strabismus or both."))


def check_family(family: AcuityFamily) -> None:
    """Raises `ClinicalInputError` naming `method` for anything but letters and pictures."""
    if family is not AcuityFamily.OPTOTYPE:
        raise ClinicalInputError("method", msg("No forecast from grating cards or categories: the published points are letters, and the two are never mixed."))


def _check_age(age_years: float) -> None:
    youngest, oldest = number("ats5", "youngest"), number("ats3", "oldest")
    if not youngest.value <= age_years < oldest.value + 1:
        text = msg(
            "No forecast at an age of %(age)s years: the published points are for %(youngest)s to %(oldest)s.",
            age=f"{age_years:.1f}",
            youngest=Quantity(youngest.value, Unit.YEARS),
            oldest=Quantity(oldest.value, Unit.YEARS),
        )
        raise ClinicalInputError("age_years", text)


@dataclass(frozen=True)
class Band:
    """The middle of what is expected and the edges that hold 80 % of it, in the unit of what was asked; infinite where it is never reached."""

    low: float
    median: float
    high: float


@dataclass(frozen=True)
class Response:
    """What is known of one child: every combination of pace, ceiling and unknown hours on a grid, each with its probability."""

    probability: Values
    pace: Values  # logMAR an hour at the start
    ceiling: Values  # logMAR
    spread: Values  # how many spreads this combination's hours per 0.1 logMAR lie above the age's
    share: Values  # of the unknown hours that were worn
    least_hours: float
    most_hours: float

    def gain(self, hours: float) -> Band:
        """Gain in logMAR since the start after so many hours in all. Raises `ClinicalInputError` naming `hours`."""
        _check_hours(hours)
        return self._band(_gain(self.pace, self.ceiling, hours))

    def mean_gain(self, hours: float) -> float:
        """The mean of `gain` in logMAR over such children, for comparison with the mean of a trial. Raises `ClinicalInputError` naming `hours`."""
        _check_hours(hours)
        return float((self.probability * _gain(self.pace, self.ceiling, hours)).sum())

    def gain_so_far(self) -> Band:
        """Gain in logMAR after the hours received up to the last visit, the unknown ones integrated over."""
        return self._band(_gain(self.pace, self.ceiling, self._received()))

    def further(self, least_hours: float, most_hours: float) -> Band:
        """Gain in logMAR beyond the last visit's, after so many more hours; between the two numbers as the unknown hours were. Raises naming `hours`."""
        _check_hours(least_hours, most_hours)
        more = self._received() + least_hours + self.share * (most_hours - least_hours)
        return self._band(_gain(self.pace, self.ceiling, more) - _gain(self.pace, self.ceiling, self._received()))

    def hours_to_next_line(self) -> Band:
        """Hours from the last visit to 0.1 logMAR more; infinite where the ceiling comes first."""
        left = self.ceiling * np.exp(-self.pace * self._received() / self.ceiling)
        reached = left > LINE_LOGMAR
        hours = np.full_like(left, np.inf)
        hours[reached] = (-self.ceiling / self.pace)[reached] * np.log1p(-LINE_LOGMAR / left[reached])
        return self._band(hours)

    def slow(self) -> float:
        """The probability, as a ratio, that the response is slower than that of 90 % of the children of this age; 0.1 before any visit (by definition)."""
        return float(self.probability[self.spread > _NORMAL.inv_cdf(SLOWER_THAN)].sum())

    def _received(self) -> Values:
        return self.least_hours + self.share * (self.most_hours - self.least_hours)

    def _band(self, values: Values) -> Band:
        """Steps, not interpolated: then more hours can never give a lower edge."""
        order = np.argsort(values)
        reached = np.cumsum(self.probability[order])
        low, median, high = (float(values[order[min(int(np.searchsorted(reached, p)), len(order) - 1)]]) for p in (BAND[0], 0.5, BAND[1]))
        return Band(low, median, high)


def _check_hours(*hours: float) -> None:
    if list(hours) != sorted(hours) or not all(0 <= h <= MOST_HOURS for h in hours):
        raise ClinicalInputError("hours", msg("%(hours)s hours cannot be: from 0 upwards, the lower number first.", hours=" – ".join(f"{h:g}" for h in hours)))


def _gain(pace: Values, ceiling: Values, hours: "Values | float") -> Values:
    return -ceiling * np.expm1(-pace * hours / ceiling)


def respond(course: Course, *, heed_gains: bool = True) -> Response:
    """What the visits of a course make of what is known beforehand: log-normal hours per 0.1 logMAR, a Beta share of the deficit (own assumptions).

    Without `heed_gains` it is what was to be expected for the hours of the course before anything was measured. Every visit's gain shares the error of
    the starting acuity, so the visits are weighed together (variance (I + 1 1ᵀ) of one score's), not one by one.
    """
    known = all(o.least_hours == o.most_hours for o in course.observed)
    shares = [0.5] if known else (np.arange(UNKNOWN_STEPS) + 0.5) / UNKNOWN_STEPS
    recoverable = (np.arange(GRID) + 0.5) / GRID
    axes = np.meshgrid(np.linspace(-GRID_SPREADS, GRID_SPREADS, GRID), recoverable, shares, indexing="ij")
    spread, phi, share = (axis.ravel() for axis in axes)
    pace = LINE_LOGMAR / hours_per_line(course.age_years) * np.exp(-number("own-response-model", "spread").value * spread)
    ceiling = phi * course.deficit_logmar
    first, second = number("own-response-model", "recoverable_first").value, number("own-response-model", "recoverable_second").value
    log_probability = -(spread**2) / 2 + (first - 1) * np.log(phi) + (second - 1) * np.log(1 - phi)
    if heed_gains:
        log_probability -= _misfit(course.observed, pace, ceiling, share) / (2 * score_spread() ** 2)
    probability = np.exp(log_probability - log_probability.max())
    last = course.observed[-1] if course.observed else Observed(0.0, 0.0, 0.0)
    return Response(probability / probability.sum(), pace, ceiling, spread, share, last.least_hours, last.most_hours)


def _misfit(observed: Sequence[Observed], pace: Values, ceiling: Values, share: Values) -> Values:
    """rᵀ (I + 1 1ᵀ)⁻¹ r = Σ r² − (Σ r)² / (n + 1), for the residuals r of the n visits."""
    squares, plain = np.zeros_like(pace), np.zeros_like(pace)
    for o in observed:
        residual = o.gain_logmar - _gain(pace, ceiling, o.least_hours + share * (o.most_hours - o.least_hours))
        squares += residual**2
        plain += residual
    return squares - plain**2 / (len(observed) + 1)
