"""Whether an acuity lies below the norm of its age, by the test it was measured with: a norm belongs to one test, and to one eye."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum

from shared.errors import ClinicalInputError
from shared.findings import Finding, Message, Quantity, Unit, Weight, msg
from shared.rounding import round_half_up
from shared.sight.acuity import Acuity
from shared.sight.gratings import octaves
from shared.sources import Table, number, table
from shared.vocabulary import AcuityFamily, AcuityMethod, Status

NORMAL_95 = 1.96  # standard deviations on either side of the mean that hold 95 % of a normal distribution
_TOLERANCE = 1e-9


class AgeNorm(StrEnum):
    """A published norm; the value is its key in `published/`."""

    MAYER_1995 = "mayer-1995"
    SALOMAO_VENTURA_1995 = "salomao-ventura-1995"
    LEONE_2014 = "leone-2014"
    PAN_2009 = "pan-2009"
    HOTV_COHORT = "hotv-cohort-norms"

    @property
    def method(self) -> AcuityMethod:
        """The one test it is for."""
        return AcuityMethod.CROWDED_HOTV if self in (AgeNorm.PAN_2009, AgeNorm.HOTV_COHORT) else AcuityMethod.GRATING_CARDS


@dataclass(frozen=True)
class NormAtAge:
    """The worst acuity that is still normal at an age, and the mean where one was printed: cycles/degree or logMAR."""

    limit: Quantity
    mean: Quantity | None
    status: Status
    working: tuple[Message, ...]


def norms_for(method: AcuityMethod) -> tuple[AgeNorm, ...]:
    """The norms published for a test, the first being the one that is used where none is named; none for most tests."""
    return tuple(norm for norm in AgeNorm if norm.method is method)


def uses_corrected_age(method: AcuityMethod) -> bool:
    """Grating norms go by the age corrected for prematurity, norms of letters by the age from birth (common practice)."""
    return method is AcuityMethod.GRATING_CARDS


def at_age(norm: AgeNorm, age_months: float) -> NormAtAge:
    """The norm at an age in months. Raises `ClinicalInputError` naming `age_months` outside the published ages."""
    return _AT_AGE[norm](age_months)


def against_norm(acuity: Acuity, norm: AgeNorm, age_months: float) -> Finding:
    """One eye's acuity against a norm at an age in months; the value is how far it lies beyond the limit, positive where it is worse.

    Gratings in octaves, letters in logMAR; thresholds printed as a line of the chart are compared in chart steps. Raises `ClinicalInputError`
    naming `acuity` for another kind of test or a category, `age_months` outside the published ages.
    """
    here = at_age(norm, age_months)
    if here.limit.unit is Unit.CYCLES_PER_DEGREE:
        if acuity.cycles_per_degree is None:
            raise ClinicalInputError("acuity", msg("“%(typed)s” is no grating: this norm is of grating cards.", typed=acuity.typed))
        seen = Quantity(acuity.cycles_per_degree, Unit.CYCLES_PER_DEGREE)
        beyond = Quantity(octaves(here.limit.value, seen.value), Unit.OCTAVES)
    else:
        if acuity.family is not AcuityFamily.OPTOTYPE or acuity.logmar is None or acuity.nominal_logmar is None:
            raise ClinicalInputError("acuity", msg("“%(typed)s” is no letter's acuity: this norm is of surrounded HOTV letters.", typed=acuity.typed))
        by_line = norm is AgeNorm.PAN_2009
        seen = Quantity(acuity.nominal_logmar if by_line else acuity.logmar, Unit.LOGMAR)
        beyond = Quantity(round_half_up(seen.value - here.limit.value, 0.1) if by_line else seen.value - here.limit.value, Unit.LOGMAR_CHANGE)
    return _finding(norm, here, seen, beyond)


def between_eyes(octaves_apart: float) -> Finding:
    """The difference of two eyes' gratings, in octaves, against what 99 of 100 healthy children have (Mayer 1995, read)."""
    most, apart = number("mayer-1995", "normal_interocular"), Quantity(abs(octaves_apart), Unit.OCTAVES)
    working = (msg("99 in a hundred healthy children have at most %(most)s between their eyes", most=most.quantity(Unit.OCTAVES)),)
    if apart.value > most.value + _TOLERANCE:
        text = msg("The eyes differ by %(apart)s: more than healthy children's do.", apart=apart)
        return Finding("eyes-differ-by-gratings", text, most.status, (most.source_key,), apart, working, Weight.CHECK)
    text = msg("The eyes differ by %(apart)s: no more than healthy children's do.", apart=apart)
    return Finding("eyes-alike-by-gratings", text, most.status, (most.source_key,), apart, working)


def _finding(norm: AgeNorm, here: NormAtAge, seen: Quantity, beyond: Quantity) -> Finding:
    if beyond.value > _TOLERANCE:
        away = beyond if beyond.unit is Unit.OCTAVES else Quantity(beyond.value, Unit.LOGMAR)
        text = msg(
            "Below the norm of this age (%(norm)s): %(seen)s is worse than its limit of %(limit)s by %(away)s.",
            norm=norm,
            seen=seen,
            limit=here.limit,
            away=away,
        )
        return Finding("below-age-norm", text, here.status, (norm.value,), beyond, here.working, Weight.CHECK)
    text = msg("Within the norm of this age (%(norm)s): %(seen)s, the limit being %(limit)s.", norm=norm, seen=seen, limit=here.limit)
    return Finding("within-age-norm", text, here.status, (norm.value,), beyond, here.working)


def _check_age(age_months: float, youngest: float, oldest: float, *, whole: bool) -> None:
    """`whole`: the last month counts until it is completed."""
    if not math.isfinite(age_months) or not youngest <= age_months or (age_months >= oldest + 1 if whole else age_months > oldest):
        low, high = Quantity(youngest, Unit.MONTHS), Quantity(oldest, Unit.MONTHS)
        raise ClinicalInputError(
            "age_months", msg("This norm is of children from %(low)s to %(high)s of age; %(age)s is outside it.", low=low, high=high, age=f"{age_months:g}")
        )


def _nearest(found: Table, age_months: float) -> tuple[dict[str, float], Message]:
    """The row of the nearest tested age, at equal distance the younger: an age between two groups has no row of its own (our reading)."""
    ages = found.column("age")
    _check_age(age_months, ages[0], ages[-1], whole=False)
    row = min(found.rows, key=lambda r: abs(r[0] - age_months))
    return dict(zip(found.columns, row, strict=True)), msg("nearest tested age: %(age)s", age=Quantity(row[0], Unit.MONTHS))


def _band(found: Table, age_months: float, *, ends_before: bool) -> tuple[dict[str, float], Message]:
    """The row of the band that the age falls into; whole months but for a table whose bands end before their second month."""
    starts, ends = found.column("from"), found.column("to")
    _check_age(age_months, starts[0], ends[-1] - 1 if ends_before else ends[-1], whole=True)
    row = [r for r in found.rows if r[0] <= age_months][-1]
    text = msg("age band from %(low)s to %(high)s", low=Quantity(row[0], Unit.MONTHS), high=Quantity(row[1], Unit.MONTHS))
    return dict(zip(found.columns, row, strict=True)), text


def _grating_limit(row: dict[str, float], status: Status, band: Message) -> NormAtAge:
    """Mean and SD in octaves: the limit, mean / 2^(1.96 SD), is derived; prediction limits of a paper are slightly wider."""
    limit, mean = (Quantity(row["mean"] / 2**down, Unit.CYCLES_PER_DEGREE) for down in (NORMAL_95 * row["sd"], 0.0))
    text = msg("mean %(mean)s / 2^(1.96 × %(sd)s) = %(limit)s: derived, the paper's own limits are slightly wider", mean=mean, sd=f"{row['sd']:g}", limit=limit)
    return NormAtAge(limit, mean, Status.weakest(status, Status.DERIVED), (band, text))


def _mayer(age_months: float) -> NormAtAge:
    found = table("mayer-1995", "monocular")
    row, band = _nearest(found, age_months)
    return _grating_limit(row, found.status, band)


def _leone(age_months: float) -> NormAtAge:
    found = table("leone-2014", "monocular")
    row, band = _band(found, age_months, ends_before=True)
    return _grating_limit(row, found.status, band)


def _salomao_ventura(age_months: float) -> NormAtAge:
    found = table("salomao-ventura-1995", "monocular")
    row, band = _nearest(found, age_months)
    limit, mean = (Quantity(row[name], Unit.CYCLES_PER_DEGREE) for name in ("lower_limit", "mean"))
    return NormAtAge(limit, mean, found.status, (band, msg("lower tolerance limit as printed; mean %(mean)s", mean=mean)))


def _pan(age_months: float) -> NormAtAge:
    found = table("pan-2009", "exclusion")
    row, band = _band(found, age_months, ends_before=False)
    limit = Quantity(round_half_up(math.log10(row["snellen_feet"] / 20), 0.1), Unit.LOGMAR)
    text = msg("five in a hundred see less than 20/%(feet)s, which is %(limit)s in chart steps", feet=f"{row['snellen_feet']:g}", limit=limit)
    return NormAtAge(limit, None, found.status, (band, text))


def _hotv_cohort(age_months: float) -> NormAtAge:
    found = table("hotv-cohort-norms", "by_age")
    row, band = _band(found, age_months, ends_before=False)
    mean, limit = (Quantity(row["mean"] + up, Unit.LOGMAR) for up in (0.0, NORMAL_95 * row["sd"]))
    text = msg("mean %(mean)s + 1.96 × %(sd)s = %(limit)s: derived", mean=mean, sd=f"{row['sd']:g}", limit=limit)
    return NormAtAge(limit, mean, Status.weakest(found.status, Status.DERIVED), (band, text))


_AT_AGE: dict[AgeNorm, Callable[[float], NormAtAge]] = {
    AgeNorm.MAYER_1995: _mayer,
    AgeNorm.SALOMAO_VENTURA_1995: _salomao_ventura,
    AgeNorm.LEONE_2014: _leone,
    AgeNorm.PAN_2009: _pan,
    AgeNorm.HOTV_COHORT: _hotv_cohort,
}
