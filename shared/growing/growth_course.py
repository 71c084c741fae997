"""One aphakic eye over the years, by its dates: when its lens is out, and whether it grows as its forecast said. Powers in D, lengths in mm."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from shared.dates import age_years
from shared.errors import ClinicalInputError
from shared.findings import Finding, Quantity, Unit, Weight, msg
from shared.growing.axial_length import length_beyond
from shared.growing.growth import Forecast, GrowingEye, Refracted, by_months, by_years, forecast, operated_later
from shared.growing.outgrown import lens_out_after
from shared.optics.planes import PlaneRefraction, RefractionPlane
from shared.rounding import round_half_up
from shared.vocabulary import Laterality, Status


@dataclass(frozen=True)
class RefractedOn:
    """A refraction of an eye on a day, at its plane (D)."""

    on: date
    refraction: PlaneRefraction


@dataclass(frozen=True)
class OutOn:
    """The days on which a lens is out by `limit` (D): an eye growing fast, as likely, slowly; None: not within the published ages."""

    limit: float
    earliest: date | None
    likely: date | None
    latest: date | None


@dataclass(frozen=True)
class Course:
    """An aphakic eye since its operation: refractions and (day, mm) of length, oldest first, and the distance power (D) of the lens worn, if any.

    Raises `ClinicalInputError` naming `operated_on` before birth, `on` for a refraction from before the operation.
    """

    side: Laterality
    born_on: date
    operated_on: date
    bilateral: bool
    refractions: tuple[RefractedOn, ...] = ()
    lengths: tuple[tuple[date, float], ...] = ()
    worn_dioptres: float | None = None

    def __post_init__(self) -> None:
        operated_later(self.born_on, self.operated_on)
        for r in self.refractions:
            if r.on < self.operated_on:
                raise ClinicalInputError("on", msg("%(on)s lies before the operation of %(operated)s.", on=r.on, operated=self.operated_on))

    @property
    def eye(self) -> GrowingEye:
        """What its rate is chosen by."""
        return GrowingEye(operated_later(self.born_on, self.operated_on), self.bilateral)

    def _start(self, r: RefractedOn) -> Refracted:
        return Refracted(age_years(self.born_on, r.on), r.refraction)

    def forecast(self, r: RefractedOn, on: date) -> Forecast:
        """From a refraction to a later day (D). Raises `ClinicalInputError` as `growth.forecast`."""
        return forecast(self.eye, self._start(r), age_years(self.born_on, on))

    def beside(self, r: RefractedOn, on: date, plane: RefractionPlane) -> float:
        """By another published course of the plane, in D: the trial's yearly falls in spectacles, the monthly falls of one aphakic eye at the cornea.

        Raises `ClinicalInputError` naming an age outside it, or `plane` for the monthly falls where both eyes are aphakic.
        """
        power, first, last = r.refraction.at(plane), age_years(self.born_on, r.on), age_years(self.born_on, on)
        if plane is RefractionPlane.SPECTACLES:
            return by_years(power, first, last)
        if self.bilateral:
            raise ClinicalInputError("plane", msg("The monthly falls at the cornea are of one aphakic eye."))
        return by_months(power, first * 12, last * 12)

    def lens_out_on(self, r: RefractedOn, limit: float, worn_dioptres: float | None = None) -> OutOn:
        """The dates of `lens_out_after`, in D as there. Raises `ClinicalInputError` as there."""
        found = lens_out_after(self.eye, self._start(r), limit, worn_dioptres)
        days = (found.earliest, found.likely, found.latest)
        return OutOn(limit, *(None if n is None else r.on + timedelta(days=n) for n in days))


def _hundredth(dioptres: float) -> Quantity:
    """For a reader: a forecast is not known more finely."""
    return Quantity(round_half_up(dioptres, 0.01), Unit.DIOPTRE)


def forecast_finding(side: Laterality, f: Forecast, on: date) -> Finding:
    """A forecast in words: likely and nineteen of twenty, in D at both planes, with its working. Raises `ClinicalInputError` naming `sphere`."""
    glasses, cornea = (f.band(plane) for plane in (RefractionPlane.SPECTACLES, RefractionPlane.CORNEA))
    text = msg(
        "Forecast for the %(eye)s eye on %(on)s: %(glasses)s in spectacles (%(glasses_low)s to %(glasses_high)s), "
        "%(cornea)s at the cornea (%(cornea_low)s to %(cornea_high)s).",
        eye=side,
        on=on,
        glasses=_hundredth(glasses.likely),
        glasses_low=_hundredth(glasses.low),
        glasses_high=_hundredth(glasses.high),
        cornea=_hundredth(cornea.likely),
        cornea_low=_hundredth(cornea.low),
        cornea_high=_hundredth(cornea.high),
    )
    return Finding("aphakic-forecast", text, f.status, f.sources, Quantity(glasses.likely, Unit.DIOPTRE), f.working)


def lens_off_expected(courses: Sequence[Course], today: date, limit: float) -> tuple[Finding, ...]:
    """Worn lenses that the forecast from the newest refraction expects to be out by the clinic's limit (D) today."""
    return tuple(found for course in courses if (found := _off_expected(course, today, limit)) is not None)


def _off_expected(course: Course, today: date, limit: float) -> Finding | None:
    if course.worn_dioptres is None or not course.refractions:
        return None
    try:
        found = course.forecast(course.refractions[-1], today)
        needed = found.band(RefractionPlane.CORNEA)
    except ClinicalInputError:  # outside the published ages nothing is expected
        return None
    off = Quantity(course.worn_dioptres - needed.likely, Unit.DIOPTRE)
    if abs(off.value) < limit:
        return None
    text = msg(
        "The lens of the %(eye)s eye is expected to be out by %(off)s today (the limit here is %(limit)s D): refract, then see whether it is changed.",
        eye=course.side,
        off=_hundredth(off.value),
        limit=f"{limit:g}",
    )
    start = course.refractions[-1]
    working = (
        msg("refracted on %(on)s, %(power)s at the cornea", on=start.on, power=_hundredth(start.refraction.at(RefractionPlane.CORNEA).power)),
        msg(
            "needed today %(likely)s (%(low)s to %(high)s), worn for distance %(worn)s",
            likely=_hundredth(needed.likely),
            low=_hundredth(needed.low),
            high=_hundredth(needed.high),
            worn=_hundredth(course.worn_dioptres),
        ),
        *found.working,
    )
    return Finding("lens-off-expected", text, found.status, found.sources, off, working, Weight.CHECK)


def growth_outside_band(courses: Sequence[Course]) -> tuple[Finding, ...]:
    """Eyes that went myopic beyond the forecast of their first refraction, or long beyond the trial's suspects: the pressure is to be looked at (derived)."""
    found = [found for course in courses for found in (_myopic_beyond(course), _long_beyond(course)) if found is not None]
    return tuple(found)


def _myopic_beyond(course: Course) -> Finding | None:
    for first in course.refractions[:-1]:
        last = course.refractions[-1]
        try:
            expected = course.forecast(first, last.on)
            band = expected.band(RefractionPlane.SPECTACLES)
        except ClinicalInputError:  # the first that lies inside the published ages
            continue
        power = last.refraction.at(RefractionPlane.SPECTACLES).power
        if power >= band.low:
            return None
        text = msg(
            "The %(eye)s eye measured %(power)s on %(on)s, below the %(low)s that nineteen of twenty eyes keep above: "
            "look at its pressure, its length and its disc.",
            eye=course.side,
            power=_hundredth(power),
            on=last.on,
            low=_hundredth(band.low),
        )
        status = Status.weakest(expected.status, Status.DERIVED)
        return Finding("growth-outside-band", text, status, expected.sources, Quantity(power - band.likely, Unit.DIOPTRE), expected.working, Weight.CHECK)
    return None


def _long_beyond(course: Course) -> Finding | None:
    return length_beyond(course.side, course.born_on, course.lengths)
