"""When a worn lens will no longer do, and whether an eye grows as its forecast said. Powers in D, lengths in mm."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from shared.axial_length import length_beyond
from shared.errors import ClinicalInputError
from shared.findings import Finding, Quantity, Unit, Weight, msg
from shared.growth import GrowingEye, Refracted, forecast
from shared.planes import RefractionPlane
from shared.vocabulary import Laterality, Status

CHANGE_LIMITS_DIOPTRES = (0.5, 3.0)
CHANGE_DIOPTRES = 1.5  # clinics set 1 to 2 D (common practice); the trial's habit was 3
FASTER, LIKELY, SLOWER = 1.0, 0.0, -1.0  # standard deviations of growth: two of three eyes lie between


@dataclass(frozen=True)
class OutOn:
    """The days on which a lens is out by `limit` (D): an eye growing fast, as likely, slowly; None: not within the published ages."""

    limit: float
    earliest: date | None
    likely: date | None
    latest: date | None


def check_limit(limit: float) -> None:
    """Raises `ClinicalInputError` naming `limit_dioptres` for what no clinic changes a lens at (D)."""
    low, high = CHANGE_LIMITS_DIOPTRES
    if not math.isfinite(limit) or not low <= limit <= high:
        raise ClinicalInputError(
            "limit_dioptres", msg("A limit of %(limit)s D cannot be; %(low)s to %(high)s D would.", limit=f"{limit:g}", low=f"{low:g}", high=f"{high:g}")
        )


def lens_out_on(eye: GrowingEye, start: Refracted, limit: float, worn_dioptres: float | None = None) -> OutOn:
    """When a lens is out by `limit` (D at the cornea): worn distance power against the power needed, from a refraction on.

    Without a lens, one that was right on the day of the refraction. The refraction's own error is left out: the lens was chosen by it.
    Raises `ClinicalInputError` naming `limit_dioptres`, or what `forecast` refuses.
    """
    check_limit(limit)
    worn = start.refraction.at(RefractionPlane.CORNEA).power if worn_dioptres is None else worn_dioptres
    earliest, likely, latest = (_out_on(eye, start, limit, worn, spreads) for spreads in (FASTER, LIKELY, SLOWER))
    return OutOn(limit, earliest, likely, latest)


def _out_on(eye: GrowingEye, start: Refracted, limit: float, worn: float, spreads: float) -> date | None:
    """The power needed only falls: once out by too much plus, the lens stays so; the first such day is found by halving."""
    if abs(_out_by(eye, start, worn, spreads, 0)) >= limit:
        return start.on
    low, high = 0, (eye.last_on - start.on).days
    if _out_by(eye, start, worn, spreads, high) < limit:
        return None
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if _out_by(eye, start, worn, spreads, middle) >= limit else (middle, high)
    return start.on + timedelta(days=high)


def _out_by(eye: GrowingEye, start: Refracted, worn: float, spreads: float, days: int) -> float:
    return worn - forecast(eye, start, start.on + timedelta(days=days)).growing(RefractionPlane.CORNEA, spreads)


@dataclass(frozen=True)
class Course:
    """An aphakic eye with all that was measured, oldest first: refractions, (day, mm) of length, and the distance power (D) of the lens worn."""

    side: Laterality
    eye: GrowingEye
    refractions: tuple[Refracted, ...] = ()
    lengths: tuple[tuple[date, float], ...] = ()
    worn_dioptres: float | None = None


def lens_off_expected(courses: Sequence[Course], today: date, limit: float) -> tuple[Finding, ...]:
    """Worn lenses that the forecast from the newest refraction expects to be out by the clinic's limit (D) today."""
    return tuple(found for course in courses if (found := _off_expected(course, today, limit)) is not None)


def _off_expected(course: Course, today: date, limit: float) -> Finding | None:
    if course.worn_dioptres is None or not course.refractions:
        return None
    try:
        found = forecast(course.eye, course.refractions[-1], today)
        needed = found.band(RefractionPlane.CORNEA)
    except ClinicalInputError:  # outside the published ages nothing is expected
        return None
    off = Quantity(course.worn_dioptres - needed.likely, Unit.DIOPTRE)
    if abs(off.value) < limit:
        return None
    text = msg(
        "The lens of the %(eye)s eye is expected to be out by %(off)s today (the limit here is %(limit)s D): refract, then see whether it is changed.",
        eye=course.side,
        off=off,
        limit=f"{limit:g}",
    )
    start = course.refractions[-1]
    working = (
        msg("refracted on %(on)s, %(power)s at the cornea", on=start.on, power=Quantity(start.refraction.at(RefractionPlane.CORNEA).power, Unit.DIOPTRE)),
        msg(
            "needed today %(likely)s (%(low)s to %(high)s), worn for distance %(worn)s",
            likely=Quantity(needed.likely, Unit.DIOPTRE),
            low=Quantity(needed.low, Unit.DIOPTRE),
            high=Quantity(needed.high, Unit.DIOPTRE),
            worn=Quantity(course.worn_dioptres, Unit.DIOPTRE),
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
            expected = forecast(course.eye, first, last.on)
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
            power=Quantity(power, Unit.DIOPTRE),
            on=last.on,
            low=Quantity(band.low, Unit.DIOPTRE),
        )
        status = Status.weakest(expected.status, Status.DERIVED)
        return Finding("growth-outside-band", text, status, expected.sources, Quantity(power - band.likely, Unit.DIOPTRE), expected.working, Weight.CHECK)
    return None


def _long_beyond(course: Course) -> Finding | None:
    return length_beyond(course.side, course.eye.born_on, course.lengths)
