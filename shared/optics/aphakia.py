"""Contact lens and spectacles for an eye without its lens: the choice from a lens range, each step shown. Powers in D."""

from dataclasses import dataclass

from shared.findings import Finding, Message, Quantity, Unit, Weight, msg
from shared.optics.lens_range import LensRange
from shared.optics.refraction import SpheroCylinder, at_vertex_distance, rounded
from shared.sources import number


def spectacle_magnification() -> Finding:
    """The caution for one aphakic eye in spectacles: its image is larger than the fellow eye's."""
    share = number("aphakic-magnification", "in_spectacles")
    text = msg(
        "One aphakic eye in spectacles sees an image about %(share)s larger than the other eye's: spectacles alone do not serve it.",
        share=share.quantity(Unit.PERCENT),
    )
    return Finding("spectacle-magnification", text, share.status, (share.source_key,), share.quantity(Unit.PERCENT), weight=Weight.CHECK)


def segment_advice() -> Finding:
    """Where a child's bifocal segment begins, which is not where an adult's does (read)."""
    below = number("child-segment", "below_pupil")
    text = msg(
        "A child's segment begins at the middle of the pupil, or at most %(below)s below it, looking straight ahead; at the lid it is not used.",
        below=below.quantity(Unit.MILLIMETRE),
    )
    return Finding("segment-height", text, below.status, (below.source_key,), below.quantity(Unit.MILLIMETRE))


@dataclass(frozen=True)
class LensPower:
    """A spherical contact lens at the cornea, all in D: exact without and with near, the power chosen, what remains, and the cylinder left uncorrected."""

    exact_distance: float
    exact_with_near: float
    power: float
    residual: float
    residual_cylinder: float
    steps: tuple[Message, ...]


def contact_lens(at_cornea: SpheroCylinder, near_overcorrection_dioptres: float, lens_range: LensRange) -> LensPower:
    """The spherical equivalent at the cornea, near added last and once, then the nearest power of the range (contact-lens arithmetic)."""
    distance = at_cornea.spherical_equivalent
    with_near = distance + near_overcorrection_dioptres
    power, residual = lens_range.nearest(with_near)
    steps = [
        msg("spherical equivalent at the cornea %(power)s", power=Quantity(distance, Unit.DIOPTRE)),
        msg(
            "%(near)s for near, added once at the lens: %(total)s",
            near=Quantity(near_overcorrection_dioptres, Unit.DIOPTRE),
            total=Quantity(with_near, Unit.DIOPTRE),
        ),
        msg("nearest power of the range %(power)s; left over %(rest)s", power=Quantity(power, Unit.DIOPTRE), rest=Quantity(residual, Unit.DIOPTRE)),
    ]
    if at_cornea.cylinder:
        steps.append(msg("a spherical lens leaves the cylinder of %(cylinder)s uncorrected", cylinder=Quantity(at_cornea.cylinder, Unit.DIOPTRE)))
    return LensPower(distance, with_near, power, residual, at_cornea.cylinder, tuple(steps))


@dataclass(frozen=True)
class SpectaclePower:
    """Spectacles at their vertex distance, all in D: exact for distance, exact as ordered, rounded, and the addition of a bifocal's segment."""

    exact_distance: SpheroCylinder
    exact: SpheroCylinder
    rounded: SpheroCylinder
    addition: float
    steps: tuple[Message, ...]


def spectacles(at_cornea: SpheroCylinder, vertex_distance_mm: float, near_dioptres: float, step: float, *, bifocal: bool = False) -> SpectaclePower:
    """The lens at `vertex_distance_mm` that does what `at_cornea` does at the cornea, rounded by meridian to `step` (D).

    What is added for near (D) is added once at the spectacles: in the whole lens, or in a bifocal's segment, which leaves the distance part as it is.
    """
    moved = at_vertex_distance(at_cornea, 0.0, vertex_distance_mm)
    distance, near = moved.exact, Quantity(near_dioptres, Unit.DIOPTRE)
    if bifocal:
        steps = (*moved.steps, msg("distance above, and in the segment %(near)s more for near", near=near))
        return SpectaclePower(distance, distance, rounded(distance, step), near_dioptres, steps)
    exact, steps = SpheroCylinder(distance.sphere + near_dioptres, distance.cylinder, distance.axis), moved.steps
    if near_dioptres:
        steps = (*steps, msg("%(near)s for near, added once at the spectacles: sphere %(sum)s", near=near, sum=Quantity(exact.sphere, Unit.DIOPTRE)))
    return SpectaclePower(distance, exact, rounded(exact, step), 0.0, steps)
