"""Sphero-cylinders: principal meridians, power vectors, effectivity between planes, over-refraction, rounding. Powers in D, distances in mm or cm."""

import math
from collections.abc import Callable
from dataclasses import dataclass

from shared.errors import ClinicalInputError
from shared.findings import Message, Param, Quantity, Unit, msg
from shared.rounding import round_half_up
from shared.sources import number

SPHERE_LIMITS = (-40.0, 50.0)
CYLINDER_LIMIT = 15.0
VERTEX_LIMITS_MM = (0.0, 30.0)
POWER_LIMIT = 80.0  # no ophthalmic lens at any plane goes beyond this
STEP_LIMIT = 5.0


@dataclass(frozen=True)
class SpheroCylinder:
    """Sphere and cylinder in D, axis in degrees (0 is read as 180). Raises `ClinicalInputError` naming sphere, cylinder or axis."""

    sphere: float
    cylinder: float = 0.0
    axis: float | None = None

    def __post_init__(self) -> None:
        for name, value, low, high in (("sphere", self.sphere, *SPHERE_LIMITS), ("cylinder", self.cylinder, -CYLINDER_LIMIT, CYLINDER_LIMIT)):
            if not math.isfinite(value) or not low <= value <= high:
                raise ClinicalInputError(
                    name,
                    msg(
                        "%(typed)s cannot be; between %(low)s and %(high)s would.",
                        typed=Quantity(value, Unit.DIOPTRE) if math.isfinite(value) else str(value),
                        low=Quantity(low, Unit.DIOPTRE),
                        high=Quantity(high, Unit.DIOPTRE),
                    ),
                )
        if self.axis is None:
            if self.cylinder:
                raise ClinicalInputError("axis", msg("A cylinder needs its axis, from 1 to 180 degrees."))
        elif not math.isfinite(self.axis) or not 0 <= self.axis <= 180:
            raise ClinicalInputError("axis", msg("An axis of %(axis)s cannot be; from 1 to 180 degrees would.", axis=f"{self.axis:g}"))
        elif self.axis == 0:
            object.__setattr__(self, "axis", 180.0)

    @property
    def spherical_equivalent(self) -> float:
        """Sphere plus half the cylinder, in D (textbook arithmetic)."""
        return self.sphere + self.cylinder / 2

    def transposed(self) -> "SpheroCylinder":
        """The same lens with the cylinder's sign turned (textbook arithmetic)."""
        axis = None if self.axis is None else self.axis - 90 if self.axis > 90 else self.axis + 90
        return SpheroCylinder(self.sphere + self.cylinder, -self.cylinder, axis)

    def power_vector(self) -> tuple[float, float, float]:
        """(M, J0, J45) in D: Thibos, Wheeler and Horner 1997 (from memory): M = S + C/2, J0 = -C/2 cos 2a, J45 = -C/2 sin 2a."""
        doubled = math.radians(2 * (self.axis or 0.0))
        return self.spherical_equivalent, -self.cylinder / 2 * math.cos(doubled), -self.cylinder / 2 * math.sin(doubled)

    def plus(self, other: "SpheroCylinder") -> "SpheroCylinder":
        """Two lenses at one plane, also obliquely crossed: power vectors add. The result has a minus cylinder."""
        m, j0, j45 = (a + b for a, b in zip(self.power_vector(), other.power_vector(), strict=True))
        return from_power_vector(m, j0, j45)


def from_power_vector(m: float, j0: float, j45: float) -> SpheroCylinder:
    """The minus-cylinder form of (M, J0, J45), all in D: C = -2 sqrt(J0² + J45²), a = atan2(J45, J0) / 2."""
    cylinder = -2 * math.hypot(j0, j45) + 0.0  # never -0.0
    axis = math.degrees(math.atan2(j45, j0)) / 2
    return SpheroCylinder(m - cylinder / 2, cylinder, axis if axis > 0 else axis + 180)


@dataclass(frozen=True)
class Working:
    """An exact result and the steps that led to it."""

    exact: SpheroCylinder
    steps: tuple[Message, ...]


def at_vertex_distance(rx: SpheroCylinder, from_mm: float, to_mm: float) -> Working:
    """The lens that does the same at another vertex distance; both in mm from the cornea.

    F' = F / (1 - d F), d = (from - to) in m, for each principal meridian by itself; the axis stays (standard ophthalmic optics, formula
    as read on teaching pages; textbook from memory). Raises `ClinicalInputError` naming the distance, or `sphere` or `cylinder` where no lens can do it.
    """
    _check_distance(from_mm, "from_vertex_distance_mm")
    _check_distance(to_mm, "to_vertex_distance_mm")
    d = (from_mm - to_mm) / 1000
    return _by_meridian(rx, lambda power: _moved(power, d), lambda a, b: _moved_step(a, b, from_mm, to_mm))


def vertex_distance(rx: SpheroCylinder, mm: float | None, field: str) -> float:
    """`mm` as measured; where it was not, 0 mm for a lens so weak that it does not matter (both meridians within 4.00 D, a rule read on teaching pages).

    Raises `ClinicalInputError` naming `field` where a stronger lens comes without its distance.
    """
    limit = number("vertex-distance-rule", "matters_beyond")
    if mm is None and max(abs(rx.sphere), abs(rx.sphere + rx.cylinder)) > limit.value:
        raise ClinicalInputError(field, msg("Beyond %(limit)s D a power means nothing without its vertex distance in mm.", limit=f"±{limit.value:g}"))
    return mm or 0.0


def _check_distance(mm: float, field: str) -> None:
    low, high = VERTEX_LIMITS_MM
    if not math.isfinite(mm) or not low <= mm <= high:
        raise ClinicalInputError(
            field,
            msg("A vertex distance of %(mm)s mm cannot be; between %(low)s and %(high)s mm would.", mm=f"{mm:g}", low=f"{low:g}", high=f"{high:g}"),
        )


def _moved(power: float, d: float) -> float:
    left = 1 - d * power
    if left <= 0 or abs(power / left) > POWER_LIMIT:
        raise ClinicalInputError("sphere", msg("No lens at the other plane does what %(power)s does here.", power=Quantity(power, Unit.DIOPTRE)))
    return power / left


def _moved_step(before: float, after: float, from_mm: float, to_mm: float) -> Message:
    """One minus the distance times the power; a lens moved away from the eye has its sign turned in the text."""
    params: dict[str, Param] = {
        "before": Quantity(before, Unit.DIOPTRE),
        "after": Quantity(after, Unit.DIOPTRE),
        "from_mm": Quantity(from_mm, Unit.MILLIMETRE),
        "to_mm": Quantity(to_mm, Unit.MILLIMETRE),
        "d": f"{abs(from_mm - to_mm) / 1000:g}",
    }
    if from_mm < to_mm:
        return msg("%(before)s at %(from_mm)s / (1 + %(d)s m × %(before)s) = %(after)s at %(to_mm)s", **params)
    return msg("%(before)s at %(from_mm)s / (1 − %(d)s m × %(before)s) = %(after)s at %(to_mm)s", **params)


def _by_meridian(rx: SpheroCylinder, change: Callable[[float], float], step: Callable[[float, float], Message]) -> Working:
    first, second = rx.sphere, rx.sphere + rx.cylinder
    changed = change(first)
    if not rx.cylinder:
        return Working(SpheroCylinder(changed, 0.0, rx.axis), (step(first, changed),))
    crossed = change(second)
    return Working(SpheroCylinder(changed, crossed - changed, rx.axis), (step(first, changed), step(second, crossed)))


def rounded(rx: SpheroCylinder, step: float) -> SpheroCylinder:
    """Each principal meridian to the nearest `step` (D), ties toward more plus; the form of the cylinder is kept. Raises naming `step`."""
    if not math.isfinite(step) or not 0 < step <= STEP_LIMIT:
        raise ClinicalInputError(
            "step", msg("A step of %(step)s D cannot be; more than 0 and at most %(most)s D would.", step=f"{step:g}", most=f"{STEP_LIMIT:g}")
        )
    sphere = round_half_up(rx.sphere, step)
    return SpheroCylinder(sphere, round_half_up(rx.sphere + rx.cylinder, step) - sphere, rx.axis)


def net_of_working_distance(gross: SpheroCylinder, working_distance_cm: float) -> SpheroCylinder:
    """A gross retinoscopy less the vergence of its working distance, 100 / cm dioptres (by definition). Raises naming `working_distance_cm`."""
    if not math.isfinite(working_distance_cm) or not 20 <= working_distance_cm <= 200:
        raise ClinicalInputError("working_distance_cm", msg("A working distance of %(cm)s cm cannot be; 20 to 200 cm would.", cm=f"{working_distance_cm:g}"))
    return SpheroCylinder(gross.sphere - 100 / working_distance_cm, gross.cylinder, gross.axis)


def keratometric_power(radius_mm: float) -> float:
    """D = 337.5 / r for a corneal radius in mm (keratometric index 1.3375, as read in a formula sheet). Raises naming `radius_mm`."""
    if not math.isfinite(radius_mm) or radius_mm <= 0:
        raise ClinicalInputError("radius_mm", msg("A corneal radius of %(mm)s mm cannot be.", mm=f"{radius_mm:g}"))
    return number("contact-lens-formula-sheet", "keratometric").value / radius_mm


def keratometric_radius(power_dioptres: float) -> float:
    """The corneal radius in mm of a keratometric power in D: the same formula turned round. Raises naming `power_dioptres`."""
    if not math.isfinite(power_dioptres) or power_dioptres <= 0:
        raise ClinicalInputError("power_dioptres", msg("A corneal power of %(power)s D cannot be.", power=f"{power_dioptres:g}"))
    return number("contact-lens-formula-sheet", "keratometric").value / power_dioptres


def tear_lens(base_curve_mm: float, cornea_dioptres: float) -> Quantity:
    """Power in D of the tears behind a rigid lens: base curve minus cornea, both by 337.5 / r; plus where the lens is steeper.

    The exact form of the rule of thumb that 0.05 mm are 0.25 D (formula sheet, as read). Raises `ClinicalInputError` naming `radius_mm`.
    """
    return Quantity(keratometric_power(base_curve_mm) - cornea_dioptres, Unit.DIOPTRE)


def less_tears(needed: SpheroCylinder, base_curve_mm: float, cornea_dioptres: float) -> Working:
    """What a rigid lens of a base curve has to add to its own tears, to give the power (D) that the eye needs at the cornea (formula sheet, as read).

    Raises `ClinicalInputError` naming `radius_mm`, or `sphere` where no lens can.
    """
    tears = tear_lens(base_curve_mm, cornea_dioptres)
    step = msg(
        "tear lens of base curve %(curve)s on a cornea of %(cornea)s (337.5 / r): %(tears)s, taken off",
        curve=Quantity(base_curve_mm, Unit.MILLIMETRE),
        cornea=Quantity(cornea_dioptres, Unit.DIOPTRE),
        tears=tears,
    )
    return Working(SpheroCylinder(needed.sphere - tears.value, needed.cylinder, needed.axis), (step,))


def over_refraction_at_cornea(trial_lens: SpheroCylinder, over_refraction: SpheroCylinder, vertex_distance_mm: float) -> Working:
    """The power at the cornea: the trial lens plus the over-refraction moved to the cornea, P = P_trial + OR / (1 - d OR), by meridian."""
    moved = at_vertex_distance(over_refraction, vertex_distance_mm, 0.0)
    over = moved.exact
    # a spherical trial lens keeps the over-refraction's own cylinder form
    total = trial_lens.plus(over) if trial_lens.cylinder else SpheroCylinder(trial_lens.sphere + over.sphere, over.cylinder, over.axis)
    added = msg(
        "trial lens %(trial)s + over-refraction at the cornea %(over)s = %(total)s, spherical equivalents",
        trial=Quantity(trial_lens.spherical_equivalent, Unit.DIOPTRE),
        over=Quantity(over.spherical_equivalent, Unit.DIOPTRE),
        total=Quantity(total.spherical_equivalent, Unit.DIOPTRE),
    )
    return Working(total, (*moved.steps, added))
