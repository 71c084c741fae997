"""SRK/T both ways, power for a refraction and refraction for a power, and SRK II beside it. For plausibility alone: the surgeon's biometer comes first."""

import math
from dataclasses import dataclass

from shared.errors import ClinicalInputError
from shared.findings import msg
from shared.sources import number, table

# Beyond these something was mistyped, or the formula meets no eye (common practice).
LIMITS = {"axial_length_mm": (15.0, 30.0), "keratometry_dioptres": (35.0, 55.0), "a_constant": (110.0, 122.0)}
REFRACTION_LIMITS = (-15.0, 20.0)
POWER_LIMITS = (-10.0, 60.0)


@dataclass(frozen=True)
class MeasuredEye:
    """Axial length in mm, mean keratometry in D (337.5 / r), and the lens's A constant. Raises `ClinicalInputError` naming the one that cannot be."""

    axial_length_mm: float
    keratometry_dioptres: float
    a_constant: float

    def __post_init__(self) -> None:
        for name, (low, high) in LIMITS.items():
            _check(name, getattr(self, name), low, high)


def implant_power(eye: MeasuredEye, refraction_dioptres: float = 0.0) -> float:
    """P in D that leaves a refraction in D at the spectacle plane (Retzlaff, Sanders and Kraff 1990; as read in biometer manuals).

    Raises `ClinicalInputError` naming `refraction_dioptres` outside of -15 to +20 D.
    """
    _check("refraction_dioptres", refraction_dioptres, *REFRACTION_LIMITS)
    o = _optics(eye)
    shown = refraction_dioptres / 1000
    return 1000 * o.aqueous * (o.x - shown * o.x_shift) / (o.retina_to_lens * (o.y - shown * o.y_shift))


def refraction_with(eye: MeasuredEye, power_dioptres: float) -> float:
    """The refraction in D at the spectacle plane that an implant of a power in D leaves: the inverse of `implant_power`.

    Raises `ClinicalInputError` naming `power_dioptres` outside of -10 to +60 D.
    """
    _check("power_dioptres", power_dioptres, *POWER_LIMITS)
    o = _optics(eye)
    above = 1000 * o.aqueous * o.x - power_dioptres * o.retina_to_lens * o.y
    return above / (o.aqueous * o.x_shift - power_dioptres / 1000 * o.retina_to_lens * o.y_shift)


def other_power(eye: MeasuredEye) -> float:
    """P in D for emmetropia by SRK II, a regression: a second opinion beside SRK/T (Sanders, Retzlaff and Kraff 1988; as read in biometer manuals)."""
    steps = table("sanders-1988", "constant")
    added = max((first, more) for first, more in steps.rows if first <= eye.axial_length_mm)[1]
    by_power, by_length = number("sanders-1988", "keratometry").value, number("sanders-1988", "length").value
    return eye.a_constant + added + by_power * eye.keratometry_dioptres + by_length * eye.axial_length_mm


@dataclass(frozen=True)
class _Optics:
    """The formula's X and Y, and what each loses per D of refraction / 1000; mm, and the aqueous index."""

    aqueous: float
    retina_to_lens: float
    x: float
    y: float
    x_shift: float
    y_shift: float


def _optics(eye: MeasuredEye) -> _Optics:
    length, radius = eye.axial_length_mm, number("retzlaff-1990", "radius").value / eye.keratometry_dioptres
    lens = _lens_depth(eye, radius)
    retina = length + number("retzlaff-1990", "retina_constant").value + number("retzlaff-1990", "retina_linear").value * length
    aqueous, cornea = number("retzlaff-1990", "index_aqueous").value, number("retzlaff-1990", "index_cornea").value - 1
    vertex = number("retzlaff-1990", "vertex").value
    x, y = aqueous * radius - retina * cornea, aqueous * radius - lens * cornea
    return _Optics(aqueous, retina - lens, x, y, vertex * x + retina * radius, vertex * y + lens * radius)


def _lens_depth(eye: MeasuredEye, radius_mm: float) -> float:
    """Where the implant will sit, in mm behind the cornea: its height above the corneal width, and the offset of the A constant."""
    length = eye.axial_length_mm
    if length > number("retzlaff-1990", "long_from").value:
        linear, square = number("retzlaff-1990", "long_linear").value, number("retzlaff-1990", "long_square").value
        length = number("retzlaff-1990", "long_constant").value + linear * length + square * length**2
    width = number("retzlaff-1990", "width_constant").value + number("retzlaff-1990", "width_length").value * length
    width += number("retzlaff-1990", "width_power").value * eye.keratometry_dioptres
    height = radius_mm - math.sqrt(max(0.0, radius_mm**2 - width**2 / 4))
    offset = number("retzlaff-1990", "depth_slope").value * eye.a_constant + number("retzlaff-1990", "depth_constant").value
    return height + offset + number("retzlaff-1990", "depth_offset").value


def _check(field: str, value: float, low: float, high: float) -> None:
    if not low <= value <= high:
        raise ClinicalInputError(field, msg("%(value)s cannot be; %(low)s to %(high)s would.", value=f"{value:g}", low=f"{low:g}", high=f"{high:g}"))
