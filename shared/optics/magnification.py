"""How much larger spectacles make an image by their power and distance: textbook arithmetic (common practice)."""

from shared.findings import Finding, Quantity, Unit, msg
from shared.optics.refraction import SpheroCylinder, at_vertex_distance
from shared.vocabulary import Status


def power_factor(rx: SpheroCylinder, vertex_distance_mm: float) -> float:
    """1 / (1 - d F), d in m from lens to cornea, F the spherical equivalent in D: 1 is life size. Raises naming `sphere` or `from_vertex_distance_mm`.

    The thickness and front curve of the lens add to it and the pupil lies a little behind the cornea: the image of a plus lens is larger still.
    """
    at_vertex_distance(rx, vertex_distance_mm, 0.0)  # refuses a distance that cannot be, and a lens that would focus before the eye
    return 1 / (1 - vertex_distance_mm / 1000 * rx.spherical_equivalent)


def image_beside(rx: SpheroCylinder, other: SpheroCylinder, vertex_distance_mm: float) -> Finding:
    """How much larger in % one eye's image is than the other's, by the power of their lenses alone at one vertex distance in mm. Raises as `power_factor`."""
    one, second = power_factor(rx, vertex_distance_mm), power_factor(other, vertex_distance_mm)
    larger = Quantity((one / second - 1) * 100, Unit.PERCENT)
    working = tuple(
        msg(
            "1 / (1 − %(d)s m × %(power)s) = %(factor)s",
            d=f"{vertex_distance_mm / 1000:g}",
            power=Quantity(lens.spherical_equivalent, Unit.DIOPTRE),
            factor=f"{factor:.3f}",
        )
        for lens, factor in ((rx, one), (other, second))
    )
    text = msg("By the power of the lenses alone this eye's image is %(larger)s larger than the other's (smaller where negative).", larger=larger)
    return Finding("magnification-by-power", text, Status.COMMON_PRACTICE, value=larger, working=working)
