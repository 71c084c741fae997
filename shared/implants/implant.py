"""A secondary lens as follow-up sees it: the refraction of one eye by age under each choice, and what that leaves between the eyes.

Refractions are spherical equivalents in D at the spectacle plane, ages in exact years. No choice is made here, and no implant is chosen.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from shared.dates import DAYS_PER_YEAR, MONTHS_A_YEAR
from shared.errors import ClinicalInputError
from shared.findings import Message, Quantity, Unit, msg
from shared.growing.growth import BAND_OF_NINETEEN_IN_TWENTY, Forecast, GrowingEye, Refracted, forecast
from shared.growing.log_growth import shifted
from shared.implants.implant_aims import Aim, aims
from shared.optics.planes import PlaneRefraction, RefractionPlane
from shared.optics.refraction import SPHERE_LIMITS, SpheroCylinder, at_vertex_distance
from shared.sources import Published, number
from shared.vocabulary import Status

_WHOLE = 1e-9  # five years are sixty months, whatever a float makes of them


@dataclass(frozen=True)
class EyeNow:
    """An aphakic eye today: age and age at its first surgery, refraction of it and of the fellow eye in D at the spectacle plane.

    A fellow eye that is aphakic too grows as this one does while waiting; any other is taken as it is now.
    Raises `ClinicalInputError` naming `age_years`, `surgery_months` or a refraction outside of the domain of the published slopes.
    """

    age_years: float
    surgery_months: int
    refraction_dioptres: float
    fellow_dioptres: float
    fellow_aphakic: bool = False

    def __post_init__(self) -> None:
        _check_age("age_years", self.age_years)
        if not 0 <= self.surgery_months <= self.age_years * MONTHS_A_YEAR:
            text = msg("Surgery at %(months)s completed months cannot be at this age.", months=self.surgery_months)
            raise ClinicalInputError("surgery_months", text)
        for name, power in (("refraction_dioptres", self.refraction_dioptres), ("fellow_dioptres", self.fellow_dioptres)):
            if not SPHERE_LIMITS[0] <= power <= SPHERE_LIMITS[1]:
                low, high = (Quantity(limit, Unit.DIOPTRE) for limit in SPHERE_LIMITS)
                text = msg("A refraction of %(power)s D cannot be; %(low)s to %(high)s would.", power=f"{power:g}", low=low, high=high)
                raise ClinicalInputError(name, text)


@dataclass(frozen=True)
class Choice:
    """Waiting (`aim` None), or a lens at an age in years aimed at a refraction."""

    name: Message
    lens_at_years: float | None = None
    aim: Aim | None = None


def at_spectacle_plane(at_cornea_dioptres: float) -> float:
    """A spherical equivalent at the cornea as one in spectacles, both in D, at the 12 mm that the implant formulas take. Raises naming `sphere`."""
    return at_vertex_distance(SpheroCylinder(at_cornea_dioptres), 0.0, number("retzlaff-1990", "vertex").value).exact.sphere


def lens_choices(name: Message, at_years: float) -> tuple[Choice, ...]:
    """A lens at an age in exact years, once for each published aim in D. Raises `ClinicalInputError` naming `lens_at_years` outside of the published slopes."""
    _check_age("lens_at_years", at_years)
    found = aims(int(at_years * MONTHS_A_YEAR + _WHOLE), int(at_years * DAYS_PER_YEAR + _WHOLE))
    return tuple(Choice(msg("%(lens)s: %(aim)s", lens=name, aim=a.name), at_years, a) for a in found)


def wait() -> Choice:
    """No lens up to the ages that are looked at (years)."""
    return Choice(msg("Waiting: still aphakic"))


@dataclass(frozen=True)
class Predicted:
    """One eye at one age in years under one choice, in D: refraction with its published band, and what it leaves to the fellow eye (`fellow_at`)."""

    choice: Choice
    age_years: float
    refraction: float
    low: float
    high: float
    anisometropia: float
    band: Message
    status: Status
    sources: tuple[str, ...]


def predicted(eye: EyeNow, choice: Choice, age_years: float) -> Predicted:
    """Refraction in D at an age: aphakic growth until the lens, pseudophakic growth after it (McClatchey and Parks 1997; McClatchey 2000).

    A phakic fellow eye's own change is not predicted. Raises `ClinicalInputError` naming `age_years` or `lens_at_years` before today or beyond 10.5 years.
    """
    _check_age("age_years", age_years, eye.age_years)
    if choice.lens_at_years is not None:
        _check_age("lens_at_years", choice.lens_at_years, eye.age_years)
    if choice.aim is None or choice.lens_at_years is None or age_years < choice.lens_at_years:
        return _aphakic(eye, choice, age_years)
    slope, other = pseudophakic_slopes(eye.surgery_months)
    error = number("vanderveen-2021", "error")
    refraction, otherwise = (shifted(choice.aim.dioptres, choice.lens_at_years, age_years, by.value) for by in (slope, other))
    band = msg("the mean absolute error of secondary lenses to either side, over both readings of the slope; the spread of growth with an implant was not read")
    status = Status.weakest(Status.DERIVED, choice.aim.status, slope.status, error.status)
    sources = (choice.aim.source_key, slope.source_key, error.source_key)
    low, high = min(refraction, otherwise) - error.value, max(refraction, otherwise) + error.value
    return Predicted(choice, age_years, refraction, low, high, refraction - fellow_at(eye, age_years), band, status, sources)


def fellow_at(eye: EyeNow, age_years: float) -> float:
    """The fellow eye's refraction in D at an age in years: as it is now, or grown without a lens where it is aphakic too. Raises naming `fellow_dioptres`."""
    return _waiting(eye, eye.fellow_dioptres, age_years, "fellow_dioptres").likely.power if eye.fellow_aphakic else eye.fellow_dioptres


def _waiting(eye: EyeNow, dioptres: float, age_years: float, field: str) -> Forecast:
    """The forecast that the page of growth shows, so that two pages never differ; operated on at six completed months is beyond six months."""
    start = PlaneRefraction(dioptres, RefractionPlane.SPECTACLES, number("retzlaff-1990", "vertex").value)
    later = eye.surgery_months >= number("mcclatchey-parks-1997", "later_after_month").value
    try:
        return forecast(GrowingEye(later, eye.fellow_aphakic), Refracted(eye.age_years, start), age_years)
    except ClinicalInputError as cannot_be:
        raise ClinicalInputError(field, cannot_be.message) from cannot_be


def _aphakic(eye: EyeNow, choice: Choice, age_years: float) -> Predicted:
    found = _waiting(eye, eye.refraction_dioptres, age_years, "refraction_dioptres")
    refraction, half = found.likely.power, BAND_OF_NINETEEN_IN_TWENTY * found.sd
    band = msg("95 of 100 eyes, by the published spread of slopes without a lens and the assumed error of one refraction")
    low, high, apart = refraction - half, refraction + half, refraction - fellow_at(eye, age_years)
    return Predicted(choice, age_years, refraction, low, high, apart, band, Status.weakest(Status.DERIVED, found.status), found.sources)


def pseudophakic_slopes(surgery_months: int) -> tuple[Published, Published]:
    """D per log10 of age in years with an implant, by completed months at the cataract's removal, and the other reading (McClatchey 2000, read).

    The study's eyes were operated on from 3 months on and had their implant that same day. An eye operated on earlier lies outside of it by its cataract,
    and within it by the day of its lens; where the two readings differ, the band holds both.
    """
    younger, older = number("mcclatchey-2000", "pseudophakic_younger"), number("mcclatchey-2000", "pseudophakic_older")
    if surgery_months >= number("mcclatchey-2000", "younger_below_month").value:
        return older, older
    return (younger, older) if surgery_months >= number("mcclatchey-2000", "surgery_from_month").value else (older, younger)


def predictions(eye: EyeNow, choices: Sequence[Choice], ages_years: Sequence[float]) -> tuple[Predicted, ...]:
    """Each choice at each age in years from today, or from the day of its lens, on, in D; earlier ages are left out. Raises as `predicted` does."""
    return tuple(predicted(eye, choice, age) for choice in choices for age in ages_years if age >= (choice.lens_at_years or eye.age_years))


def same_study(eye: EyeNow, age_years: float) -> Message:
    """What the study of the slope with an implant gives for an eye that stays aphakic, in D at an age in years: like beside like."""
    young = pseudophakic_slopes(eye.surgery_months)[0] == number("mcclatchey-2000", "pseudophakic_younger")
    slope = number("mcclatchey-2000", "aphakic_younger") if young else number("mcclatchey-2000", "aphakic_older")
    return msg(
        "still aphakic by the study that the slope with an implant is from: %(refraction)s at %(age)s",
        refraction=Quantity(shifted(eye.refraction_dioptres, eye.age_years, age_years, slope.value), Unit.DIOPTRE),
        age=Quantity(age_years, Unit.YEARS),
    )


def _check_age(field: str, age_years: float, from_years: float | None = None) -> None:
    """From the youngest surgery of the published slopes to the last look of the published secondary lenses."""
    youngest, oldest = number("mcclatchey-2000", "surgery_from_month").value / MONTHS_A_YEAR, number("vanderveen-2021", "followed_to").value
    first = max(youngest, from_years or youngest)
    if not first <= age_years <= oldest:
        text = msg(
            "No prediction for an age of %(age)s years: it can be made from %(first)s to %(last)s.",
            age=f"{age_years:.2f}",
            first=Quantity(first, Unit.YEARS),
            last=Quantity(oldest, Unit.YEARS),
        )
        raise ClinicalInputError(field, text)
