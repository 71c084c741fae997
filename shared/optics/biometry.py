"""The lens an aphakic eye will need for distance, from its length and its cornea, where refraction is not possible. Lengths in mm, powers in D."""

import math
from dataclasses import dataclass

from shared.errors import ClinicalInputError
from shared.findings import Finding, Message, Quantity, Unit, Weight, msg
from shared.optics.planes import PlaneRefraction, RefractionPlane
from shared.optics.refraction import SPHERE_LIMITS, keratometric_radius
from shared.sources import Published, number, table
from shared.vocabulary import Status

LENGTH_LIMITS_MM = (14.0, 30.0)  # beyond, a measurement is doubted before it is used (common practice)
CORNEA_LIMITS_DIOPTRES = (38.0, 60.0)
AGE_LIMIT_MONTHS = 216
BAND_SD = 2.0  # of a cohort that was published with its mean and standard deviation


def check_between(field: str, value: float, limits: tuple[float, float], unit: Unit, whose: Message) -> None:
    """Raises `ClinicalInputError` naming `field` and the domain (in `unit`, of `whose`) for what lies outside it or is no number."""
    low, high = limits
    if not math.isfinite(value) or not low <= value <= high:
        typed = Quantity(value, unit) if math.isfinite(value) else str(value)
        text = msg("%(typed)s lies outside %(whose)s, from %(low)s to %(high)s.", typed=typed, whose=whose, low=Quantity(low, unit), high=Quantity(high, unit))
        raise ClinicalInputError(field, text)


@dataclass(frozen=True)
class Biometry:
    """An eye as measured: axial length in mm, mean keratometry in D, age in completed months. Raises `ClinicalInputError` naming the field."""

    axial_length_mm: float
    cornea_dioptres: float
    age_months: int

    def __post_init__(self) -> None:
        check_between("axial_length_mm", self.axial_length_mm, LENGTH_LIMITS_MM, Unit.MILLIMETRE, msg("what an eye may measure here"))
        check_between("cornea_dioptres", self.cornea_dioptres, CORNEA_LIMITS_DIOPTRES, Unit.DIOPTRE, msg("what a cornea may measure here"))
        check_between("age_months", self.age_months, (0, AGE_LIMIT_MONTHS), Unit.MONTHS, msg("childhood"))


@dataclass(frozen=True)
class PowerEstimate:
    """Distance power in D at the cornea and at spectacles; `error` is the mean absolute error published for the method (D, at the cornea), if any."""

    at_cornea: PlaneRefraction
    at_spectacles: PlaneRefraction
    error: float | None
    finding: Finding

    @property
    def band(self) -> tuple[float, float] | None:
        """From and to, in D at the cornea: one mean absolute error to each side, no limit of what may come."""
        return None if self.error is None else (self.at_cornea.power - self.error, self.at_cornea.power + self.error)


def by_regression(eye: Biometry, vertex_distance_mm: float) -> PowerEstimate:
    """84.4 - 3.2 AL at the cornea in D, infants below one year (Trivedi and Wilson, read), with its error in other infants (Trivedi 2014, read).

    Their lengths were not printed; the domain is two standard deviations about the mean, worked out from the power's own by the regression
    (derived). Raises `ClinicalInputError` naming `age_months` or `axial_length_mm` outside.
    """
    intercept, per_mm = number("trivedi-wilson-lens-power", "intercept"), number("trivedi-wilson-lens-power", "per_millimetre")
    before = number("trivedi-wilson-lens-power", "before_month")
    if eye.age_months >= before.value:
        text = msg(
            "The regression is of infants operated on before %(before)s of age; from then on the optics of the eye serve.", before=before.quantity(Unit.MONTHS)
        )
        raise ClinicalInputError("age_months", text)
    check_between("axial_length_mm", eye.axial_length_mm, regression_lengths_mm(), Unit.MILLIMETRE, msg("the lengths of the infants of this regression"))
    power = intercept.value - per_mm.value * eye.axial_length_mm
    off, error = number("trivedi-2014", "regression_mean_error"), number("trivedi-2014", "regression_absolute_error")
    working = (
        msg(
            "%(intercept)s − %(per_mm)s × %(length)s mm = %(power)s at the cornea",
            intercept=f"{intercept.value:g}",
            per_mm=f"{per_mm.value:g}",
            length=f"{eye.axial_length_mm:g}",
            power=Quantity(power, Unit.DIOPTRE),
        ),
        _missed(error, off),
    )
    status = Status.weakest(intercept.status, error.status, Status.DERIVED)
    return _estimate("lens-power-by-regression", power, vertex_distance_mm, error.value, status, (intercept.source_key, error.source_key), working)


def _missed(error: Published, off: Published) -> Message:
    return msg(
        "in other infants the mean absolute error was %(error)s D; what was needed less what was estimated came to %(off)s on average",
        error=f"{error.value:g}",
        off=off.quantity(Unit.DIOPTRE),
    )


def regression_lengths_mm() -> tuple[float, float]:
    """The lengths in mm that the regression speaks for: slope = r SD(power) / SD(length), so two of the latter about the mean (derived)."""
    per_mm = number("trivedi-wilson-lens-power", "per_millimetre").value
    mean = (number("trivedi-wilson-lens-power", "intercept").value - number("trivedi-wilson-lens-power", "mean_power").value) / per_mm
    correlation = math.sqrt(number("trivedi-wilson-lens-power", "explained").value)
    spread = correlation * number("trivedi-wilson-lens-power", "spread").value / per_mm
    return mean - BAND_SD * spread, mean + BAND_SD * spread


def by_vergence(eye: Biometry, vertex_distance_mm: float) -> PowerEstimate:
    """1336 / AL - K at the cornea in D: one thin surface (textbook, from memory). No error was published."""
    index = number("thin-lens-vergence", "vitreous_index_thousand")
    power = index.value / eye.axial_length_mm - eye.cornea_dioptres
    working = (
        msg(
            "%(index)s / %(length)s mm − %(cornea)s = %(power)s at the cornea",
            index=f"{index.value:g}",
            length=f"{eye.axial_length_mm:g}",
            cornea=Quantity(eye.cornea_dioptres, Unit.DIOPTRE),
            power=Quantity(_checked(power), Unit.DIOPTRE),
        ),
        msg("no error was found published for this form"),
    )
    return _estimate("lens-power-by-vergence", power, vertex_distance_mm, None, Status.weakest(index.status, Status.DERIVED), (index.source_key,), working)


def by_implant_formula(eye: Biometry, vertex_distance_mm: float) -> PowerEstimate:
    """SRK/T with an implant of no power, in D at the cornea: 1000 (n / L - (nc - 1) / r), the retina added to the length (read secondhand; derived).

    The default where the regression does not speak. The published error is of infants, and of the same formula with a constant of its own, whose
    lens lies on the cornea: a near relative, said so; from one year of age on none is given.
    """
    index, cornea_index = number("retzlaff-1990", "index_aqueous"), number("retzlaff-1990", "index_cornea").value - 1
    retina, per_mm = number("retzlaff-1990", "retina_constant"), -number("retzlaff-1990", "retina_linear").value
    optical = eye.axial_length_mm + retina.value - per_mm * eye.axial_length_mm
    radius = keratometric_radius(eye.cornea_dioptres)
    power = 1000 * (index.value / optical - cornea_index / radius)
    off, error = number("trivedi-2014", "implant_formula_mean_error"), number("trivedi-2014", "implant_formula_absolute_error")
    working = (
        msg(
            "optical length %(length)s mm + %(retina)s − %(per_mm)s × %(length)s mm = %(optical)s mm",
            length=f"{eye.axial_length_mm:g}",
            retina=f"{retina.value:g}",
            per_mm=f"{per_mm:g}",
            optical=f"{optical:.3f}",
        ),
        msg(
            "1000 × (%(index)s / %(optical)s mm − %(cornea)s / %(radius)s mm) = %(power)s at the cornea",
            index=f"{index.value:g}",
            optical=f"{optical:.3f}",
            cornea=f"{cornea_index:g}",
            radius=f"{radius:.3f}",
            power=Quantity(_checked(power), Unit.DIOPTRE),
        ),
    )
    status, rule = Status.weakest(index.status, error.status, Status.DERIVED), "lens-power-by-implant-formula"
    if eye.age_months >= number("trivedi-wilson-lens-power", "before_month").value:
        older = (*working, msg("no error was found published at this age"))
        return _estimate(rule, power, vertex_distance_mm, None, status, (index.source_key,), older)
    known = (_missed(error, off), msg("that error is of the formula with a constant for lenses on the cornea, a near relative of this form"))
    return _estimate(rule, power, vertex_distance_mm, error.value, status, (index.source_key, error.source_key), (*working, *known))


def _checked(power: float) -> float:
    low, high = SPHERE_LIMITS
    check_between("axial_length_mm", power, (low, high), Unit.DIOPTRE, msg("the powers of lenses, for this length and cornea"))
    return power


def _estimate(
    rule: str, power: float, vertex_distance_mm: float, error: float | None, status: Status, sources: tuple[str, ...], working: tuple[Message, ...]
) -> PowerEstimate:
    at_cornea = PlaneRefraction(power, RefractionPlane.CORNEA, vertex_distance_mm)
    at_spectacles = at_cornea.at(RefractionPlane.SPECTACLES)
    text = msg(
        "%(power)s for distance at the cornea; %(spectacles)s in spectacles at %(vertex)s. To be confirmed by refraction.",
        power=Quantity(power, Unit.DIOPTRE),
        spectacles=Quantity(at_spectacles.power, Unit.DIOPTRE),
        vertex=Quantity(vertex_distance_mm, Unit.MILLIMETRE),
    )
    return PowerEstimate(at_cornea, at_spectacles, error, Finding(rule, text, status, sources, Quantity(power, Unit.DIOPTRE), working))


def estimates(eye: Biometry, vertex_distance_mm: float) -> tuple[PowerEstimate, ...]:
    """Every method that speaks for this eye, in D at both planes, the default first: regression inside its domain, else the implant formula."""
    physical = (by_implant_formula(eye, vertex_distance_mm), by_vergence(eye, vertex_distance_mm))
    try:
        return (by_regression(eye, vertex_distance_mm), *physical)
    except ClinicalInputError:
        return physical


def by_age(power: float, age_months: int) -> tuple[Finding, ...]:
    """Whether a distance power (D, at the cornea) lies where children of this age did: three published views, each inside its own domain."""
    found = [_starting_power(power, age_months)]
    first, last = number("rigid-infant-fitting", "from_month"), number("rigid-infant-fitting", "until_month")
    if first.value <= age_months <= last.value:
        found.append(_rigid_by_age(power, age_months))
        found.append(_moore(power, age_months))
    return tuple(found)


def _starting_power(power: float, age_months: int) -> Finding:
    t = table("sclafani-2002", "starting_power")
    least, most = next((row[1], row[2]) for row in reversed(t.rows) if row[0] <= age_months)
    return _inside("starting-power-by-age", power, (least, most), t.status, (t.source_key,), msg("the starting powers of that age"))


def rigid_power(age_months: float) -> float:
    """31.66 - 0.62 x age: mean rigid lens power in D of unilateral aphakic infants by age in months (read). Raises `ClinicalInputError` naming `age_months`."""
    limits = number("rigid-infant-fitting", "from_month").value, number("rigid-infant-fitting", "until_month").value
    check_between("age_months", age_months, limits, Unit.MONTHS, msg("the ages of the infants with rigid lenses"))
    return number("rigid-infant-fitting", "intercept").value - number("rigid-infant-fitting", "per_month").value * age_months


def _rigid_by_age(power: float, age_months: int) -> Finding:
    mean, spread = rigid_power(age_months), number("rigid-infant-fitting", "spread")
    band = (mean - BAND_SD * spread.value, mean + BAND_SD * spread.value)
    whose = msg("two standard deviations about the rigid lenses of that age, mean %(mean)s", mean=Quantity(mean, Unit.DIOPTRE))
    status = Status.weakest(number("rigid-infant-fitting", "from_month").status, Status.DERIVED)
    return _inside("rigid-power-by-age", power, band, status, (spread.source_key,), whose)


def moore_power(age_months: float) -> float:
    """Mean power in D at the contact lens, unilateral aphakia, from 1 to 24 months: its value at twelve months and its monthly falls (Moore 1989, read).

    Raises `ClinicalInputError` naming `age_months` outside.
    """
    return number("moore-1989", "at_twelve_months").value - moore_fall(12, age_months)


def moore_fall(from_months: float, to_months: float) -> float:
    """How far the mean power fell (D, at the contact lens) between two ages in months. Raises `ClinicalInputError` naming `age_months`."""
    return _fallen(to_months) - _fallen(from_months)


def _fallen(age_months: float) -> float:
    rows = table("moore-1989", "monthly_fall").rows
    check_between("age_months", age_months, (rows[0][0], rows[-1][1]), Unit.MONTHS, msg("the ages of this course"))
    return sum(fall * (min(age_months, until) - first) for first, until, fall in rows if age_months > first)


def _moore(power: float, age_months: int) -> Finding:
    mean = moore_power(age_months)
    off = Quantity(power - mean, Unit.DIOPTRE)
    text = msg(
        "%(off)s from the mean course of unilateral aphakia, %(mean)s at this age; no spread was found published.", off=off, mean=Quantity(mean, Unit.DIOPTRE)
    )
    return Finding("aphakic-course-by-age", text, Status.DERIVED, ("moore-1989",), off)


def _inside(rule: str, power: float, band: tuple[float, float], status: Status, sources: tuple[str, ...], whose: Message) -> Finding:
    low, high = (Quantity(end, Unit.DIOPTRE) for end in band)
    typed = Quantity(power, Unit.DIOPTRE)
    inside = band[0] <= power <= band[1]
    text = (
        msg("%(power)s lies within %(whose)s, %(low)s to %(high)s.", power=typed, whose=whose, low=low, high=high)
        if inside
        else msg("%(power)s lies outside %(whose)s, %(low)s to %(high)s.", power=typed, whose=whose, low=low, high=high)
    )
    return Finding(rule, text, status, sources, typed, weight=Weight.NOTE if inside else Weight.CHECK)
