"""A rigid contact lens and the tears behind it. Powers in D, radii in mm.

At the cornea an eye needs the lens, its tears and the refraction over both together; a lens of another base curve has other tears.
"""

import math
from dataclasses import dataclass

from shared.errors import ClinicalInputError
from shared.findings import Message, Quantity, Unit, msg
from shared.optics.lens_range import CURVE_LIMITS_MM
from shared.optics.refraction import SpheroCylinder, at_vertex_distance, keratometric_power, keratometric_radius
from shared.sources import number

CORNEA_LIMITS_DIOPTRES = (20.0, 80.0)  # outside it no cornea: something was mistyped


@dataclass(frozen=True)
class Cornea:
    """Keratometry in D: the flatter meridian, and where it differs the steeper one with its axis in degrees.

    Raises `ClinicalInputError` naming flat_dioptres, steep_dioptres or steep_axis.
    """

    flat_dioptres: float
    steep_dioptres: float | None = None
    steep_axis: float | None = None

    def __post_init__(self) -> None:
        low, high = CORNEA_LIMITS_DIOPTRES
        for name, power in (("flat_dioptres", self.flat_dioptres), ("steep_dioptres", self.steep_dioptres)):
            if power is not None and (not math.isfinite(power) or not low <= power <= high):
                raise ClinicalInputError(
                    name, msg("A corneal power of %(power)s D cannot be; %(low)s to %(high)s D would.", power=f"{power:g}", low=f"{low:g}", high=f"{high:g}")
                )
        if self.steep_dioptres is None:
            return
        if self.steep_dioptres < self.flat_dioptres:
            raise ClinicalInputError("steep_dioptres", msg("The steeper meridian has the higher power: exchange the two, and give the axis of the steeper."))
        if self.steep_dioptres > self.flat_dioptres and self.steep_axis is None:
            raise ClinicalInputError("steep_axis", msg("Two different powers need the axis of the steeper meridian, from 1 to 180 degrees."))
        if self.steep_axis is not None and (not math.isfinite(self.steep_axis) or not 0 <= self.steep_axis <= 180):
            raise ClinicalInputError("steep_axis", msg("An axis of %(axis)s cannot be; from 1 to 180 degrees would.", axis=f"{self.steep_axis:g}"))

    @property
    def astigmatism(self) -> float:
        """How much steeper the steeper meridian is, in D."""
        return 0.0 if self.steep_dioptres is None else self.steep_dioptres - self.flat_dioptres


def tears(base_curve_mm: float, cornea: Cornea) -> SpheroCylinder:
    """The tear lens of a spherical base curve: its power less the cornea's by 337.5 / r, in each meridian; plus where the lens is steeper.

    The exact form (formula sheet, as read). Raises `ClinicalInputError` naming `base_curve_mm`.
    """
    _check_curve(base_curve_mm, "base_curve_mm")
    sphere = keratometric_power(base_curve_mm) - cornea.flat_dioptres
    if not cornea.astigmatism or cornea.steep_axis is None:
        return SpheroCylinder(sphere)
    return SpheroCylinder(sphere, -cornea.astigmatism, (cornea.steep_axis + 90) % 180)


def tears_by_rule(base_curve_mm: float, cornea: Cornea) -> Quantity:
    """The rule of thumb for the flatter meridian, 0.25 D for each 0.05 mm (formula sheet, as read): it understates on a steep cornea.

    Raises `ClinicalInputError` naming `base_curve_mm`.
    """
    _check_curve(base_curve_mm, "base_curve_mm")
    power, radius = number("contact-lens-formula-sheet", "rule_power"), number("contact-lens-formula-sheet", "rule_radius")
    return Quantity((keratometric_radius(cornea.flat_dioptres) - base_curve_mm) / radius.value * power.value, Unit.DIOPTRE)


def _check_curve(base_curve_mm: float, field: str) -> None:
    low, high = CURVE_LIMITS_MM
    if not math.isfinite(base_curve_mm) or not low <= base_curve_mm <= high:
        raise ClinicalInputError(
            field,
            msg("A base curve of %(curve)s mm cannot be; %(low)s to %(high)s mm would.", curve=f"{base_curve_mm:g}", low=f"{low:g}", high=f"{high:g}"),
        )


@dataclass(frozen=True)
class RigidLens:
    """All in D at the cornea: the trial lens's tears, what the eye needs without any lens, and the lens of the ordered base curve that gives it."""

    tears: SpheroCylinder
    needed_at_cornea: SpheroCylinder
    lens: SpheroCylinder
    steps: tuple[Message, ...]


def over_rigid_lens(
    trial_dioptres: float, base_curve_mm: float, cornea: Cornea, over: SpheroCylinder, vertex_distance_mm: float, ordered_base_curve_mm: float
) -> RigidLens:
    """Refraction at the cornea = lens + tears + over-refraction moved to the cornea; the lens to order is that less its own tears (formula sheet, as read).

    Raises `ClinicalInputError` naming a base curve, or what `at_vertex_distance` names.
    """
    _check_curve(ordered_base_curve_mm, "ordered_base_curve_mm")
    behind, moved = tears(base_curve_mm, cornea), at_vertex_distance(over, vertex_distance_mm, 0.0)
    needed = SpheroCylinder(trial_dioptres).plus(behind).plus(moved.exact)
    new = tears(ordered_base_curve_mm, cornea)
    lens = needed.plus(SpheroCylinder(-new.sphere, -new.cylinder, new.axis))
    steps = (
        *moved.steps,
        msg(
            "lens %(lens)s + tears %(tears)s + over-refraction at the cornea %(over)s = %(sum)s, spherical equivalents",
            lens=Quantity(trial_dioptres, Unit.DIOPTRE),
            tears=Quantity(behind.spherical_equivalent, Unit.DIOPTRE),
            over=Quantity(moved.exact.spherical_equivalent, Unit.DIOPTRE),
            sum=Quantity(needed.spherical_equivalent, Unit.DIOPTRE),
        ),
        msg(
            "tears of the ordered base curve %(curve)s: %(tears)s, taken off: %(lens)s, spherical equivalents",
            curve=Quantity(ordered_base_curve_mm, Unit.MILLIMETRE),
            tears=Quantity(new.spherical_equivalent, Unit.DIOPTRE),
            lens=Quantity(lens.spherical_equivalent, Unit.DIOPTRE),
        ),
    )
    return RigidLens(behind, needed, lens, steps)
