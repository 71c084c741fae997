"""Refraction that falls in a straight line with the logarithm of age: what every such slope has in common. D at the spectacle plane, ages in years."""

import math

from shared.errors import ClinicalInputError
from shared.findings import msg


def shifted(refraction_dioptres: float, from_years: float, to_years: float, slope: float) -> float:
    """R(to) = R(from) + slope × log10(to / from): D, exact ages in years, slope in D per log10 unit, negative towards myopia (McClatchey and Parks 1997).

    Raises `ClinicalInputError` naming `age_years` for an age of nothing, or one that is no number: there the logarithm has no end.
    """
    return refraction_dioptres + slope * _decades(from_years, to_years)


def spread(from_years: float, to_years: float, slope_sd: float) -> float:
    """The standard deviation in D that children's slopes, themselves spread by `slope_sd`, give between two ages in years. Raises naming `age_years`."""
    return slope_sd * abs(_decades(from_years, to_years))


def _decades(from_years: float, to_years: float) -> float:
    for age in (from_years, to_years):
        if not 0 < age < math.inf:
            raise ClinicalInputError("age_years", msg("An age of %(age)s years cannot be; more than 0 would.", age=f"{age:g}"))
    return math.log10(to_years / from_years)
