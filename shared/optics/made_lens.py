"""A made-up lens against its order, by the standards' tolerances. Powers in D, axes in degrees, sizes in mm."""

from collections.abc import Sequence
from dataclasses import dataclass

from shared.findings import Message, Quantity, Unit, msg
from shared.lens_words import LensMaterial
from shared.optics.refraction import SpheroCylinder
from shared.sources import number
from shared.vocabulary import Status

SPECTACLE_STANDARD, CONTACT_LENS_STANDARD = "ansi-z80-1-2015", "iso-18369-2-2017"
_TOLERANCE = 1e-9  # a lens that is off by exactly the tolerance passes


@dataclass(frozen=True)
class Checked:
    """One property of a lens: ordered, measured, and whether it lies within the tolerance (same unit); `source` is a key of `published/`."""

    what: Message
    ordered: Quantity
    measured: Quantity
    tolerance: Quantity
    within: bool
    source: str
    status: Status


def check_spectacle_lens(ordered: SpheroCylinder, measured: SpheroCylinder, prism: float | None = None) -> tuple[Checked, ...]:
    """Distance power (D), cylinder (D), axis (degrees) and unwanted prism (prism dioptres) of a spectacle lens against ANSI Z80.1-2015 (read).

    Both lenses may be written with either sign of cylinder. The sphere is judged in the ordered meridian of the higher power.
    """
    made = _written_as(ordered, measured)
    wanted, got = (_in_stronger_meridian(lens, ordered) for lens in (ordered, made))
    found = [
        _checked(msg("power of the stronger meridian"), Unit.DIOPTRE, wanted, got, _sphere(wanted)),
        _checked(msg("cylinder"), Unit.DIOPTRE, ordered.cylinder, made.cylinder, _cylinder(abs(ordered.cylinder))),
    ]
    if ordered.cylinder and made.cylinder and ordered.axis is not None and made.axis is not None:
        off = abs(ordered.axis - made.axis) % 180
        found.append(_checked(msg("axis"), Unit.DEGREES, ordered.axis, made.axis, _axis(abs(ordered.cylinder)), min(off, 180 - off)))
    if prism is not None:
        found.append(_check_prism(prism, min(abs(ordered.sphere), abs(ordered.sphere + ordered.cylinder))))
    return tuple(found)


def _written_as(ordered: SpheroCylinder, measured: SpheroCylinder) -> SpheroCylinder:
    """The measured lens with the cylinder's sign of the order; where none is ordered, with the stronger meridian as its sphere."""
    if ordered.cylinder:
        return measured if measured.cylinder * ordered.cylinder >= 0 else measured.transposed()
    return measured.transposed() if _crossed_is_stronger(measured) else measured


def _crossed_is_stronger(lens: SpheroCylinder) -> bool:
    across = lens.sphere + lens.cylinder
    return bool(lens.cylinder) and (abs(across), across) > (abs(lens.sphere), lens.sphere)


def _in_stronger_meridian(lens: SpheroCylinder, ordered: SpheroCylinder) -> float:
    return lens.sphere + lens.cylinder if _crossed_is_stronger(ordered) else lens.sphere


def _check_prism(prism: float, power: float) -> Checked:
    """Prism in prism dioptres; beyond the fixed tolerance, the distance in mm by which the point is off in a lens of `power` D.

    Prentice's rule, prism = cm off x power, is from memory, and so is a verdict that rests on it.
    """
    allowed = _printed(SPECTACLE_STANDARD, "prism")
    if prism <= allowed.amount + _TOLERANCE or not power:
        return _checked(msg("prism, none being ordered"), Unit.PRISM_DIOPTRE, 0.0, prism, allowed)
    point = _printed(SPECTACLE_STANDARD, "reference_point")
    by_rule = _Allowed(point.amount, point.source, Status.weakest(point.status, Status.MEMORY))
    return _checked(msg("reference point off its place, by the prism"), Unit.MILLIMETRE, 0.0, 10 * prism / power, by_rule)


def check_segment(ordered_addition: float, measured_addition: float, ordered_height_mm: float | None, measured_height_mm: float | None) -> tuple[Checked, ...]:
    """The addition (D) and, where both are known, the height (mm) of a bifocal segment against ANSI Z80.1-2015 (read)."""
    high = ordered_addition > number(SPECTACLE_STANDARD, "addition_limit").value
    found = [
        _checked(msg("addition"), Unit.DIOPTRE, ordered_addition, measured_addition, _printed(SPECTACLE_STANDARD, "addition_high" if high else "addition_low"))
    ]
    if ordered_height_mm is not None and measured_height_mm is not None:
        found.append(_checked(msg("segment height"), Unit.MILLIMETRE, ordered_height_mm, measured_height_mm, _printed(SPECTACLE_STANDARD, "segment_height")))
    return tuple(found)


def check_contact_lens(
    ordered_power: float,
    measured_power: float,
    material: LensMaterial | None,
    sizes_mm: Sequence[tuple[str, float | None, float | None]] = (),
) -> tuple[Checked, ...]:
    """Back vertex power (D) of a contact lens, and `sizes_mm`: ("base_curve" or "diameter", ordered, measured), against ISO 18369-2 (numbers from memory)."""
    rigid = material is LensMaterial.RIGID_GAS_PERMEABLE
    kind, steps = ("rigid", 5) if rigid else ("soft", 3)
    step = next((n for n in range(1, steps) if abs(ordered_power) <= number(CONTACT_LENS_STANDARD, f"{kind}_limit_{n}").value), steps)
    found = [_checked(msg("back vertex power"), Unit.DIOPTRE, ordered_power, measured_power, _printed(CONTACT_LENS_STANDARD, f"{kind}_{step}"))]
    names = {"base_curve": msg("base curve"), "diameter": msg("diameter")}
    for what, ordered, measured in sizes_mm:
        if ordered is not None and measured is not None:
            found.append(_checked(names[what], Unit.MILLIMETRE, ordered, measured, _printed(CONTACT_LENS_STANDARD, f"{kind}_{what}")))
    return tuple(found)


@dataclass(frozen=True)
class _Allowed:
    amount: float
    source: str
    status: Status


def _printed(source: str, name: str) -> _Allowed:
    found = number(source, name)
    return _Allowed(found.value, source, found.status)


def _share(name: str, power: float) -> _Allowed:
    found = number(SPECTACLE_STANDARD, name)
    return _Allowed(abs(power) * found.value / 100, SPECTACLE_STANDARD, found.status)


def _sphere(power: float) -> _Allowed:
    beyond = abs(power) > number(SPECTACLE_STANDARD, "sphere_limit").value
    return _share("sphere_beyond", power) if beyond else _printed(SPECTACLE_STANDARD, "sphere")


def _cylinder(cylinder: float) -> _Allowed:
    if cylinder <= number(SPECTACLE_STANDARD, "cylinder_low_limit").value:
        return _printed(SPECTACLE_STANDARD, "cylinder_low")
    if cylinder <= number(SPECTACLE_STANDARD, "cylinder_middle_limit").value:
        return _printed(SPECTACLE_STANDARD, "cylinder_middle")
    return _share("cylinder_beyond", cylinder)


def _axis(cylinder: float) -> _Allowed:
    step = next((n for n in range(1, 5) if cylinder <= number(SPECTACLE_STANDARD, f"axis_limit_{n}").value), 5)
    return _printed(SPECTACLE_STANDARD, f"axis_{step}")


def _checked(what: Message, unit: Unit, ordered: float, measured: float, allowed: _Allowed, off: float | None = None) -> Checked:
    difference = abs(measured - ordered) if off is None else off
    amount = Quantity(allowed.amount, unit)
    return Checked(what, Quantity(ordered, unit), Quantity(measured, unit), amount, difference <= allowed.amount + _TOLERANCE, allowed.source, allowed.status)
