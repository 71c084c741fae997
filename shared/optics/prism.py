"""Prism of a lens looked through beside its optical centre. Powers in D, distances in mm, prism in prism dioptres."""

import math
from dataclasses import dataclass

from shared.errors import ClinicalInputError
from shared.findings import Message, Quantity, Unit, msg
from shared.optics.refraction import SpheroCylinder
from shared.vocabulary import Laterality, Status

FARTHEST_MM = 30.0  # farther off no lens reaches
STATUS = Status.MEMORY  # Prentice's rule, a textbook's, was not read
_NOTHING = 1e-9


@dataclass(frozen=True)
class Prism:
    """Horizontal prism, in positive and out negative, and vertical, up positive and down negative: where its base lies, in prism dioptres."""

    horizontal: float
    vertical: float
    steps: tuple[Message, ...]

    @property
    def horizontal_base(self) -> Message:
        """Toward the nose or away from it."""
        return _base(self.horizontal, msg("base in"), msg("base out"))

    @property
    def vertical_base(self) -> Message:
        """Up or down."""
        return _base(self.vertical, msg("base up"), msg("base down"))


def _base(amount: float, positive: Message, negative: Message) -> Message:
    return msg("none") if abs(amount) <= _NOTHING else positive if amount > 0 else negative


def by_decentration(rx: SpheroCylinder, eye: Laterality, in_mm: float, up_mm: float) -> Prism:
    """Prentice: prism = distance in cm x power, by meridian (textbook, from memory). `in_mm` and `up_mm` say where the optical centre lies from the pupil.

    A cylinder turns part of a sideways shift into vertical prism: its power acts across its axis, which is read as the examiner sees it, 0 degrees to the
    examiner's right. Raises `ClinicalInputError` naming `in_mm` or `up_mm`.
    """
    for name, mm in (("in_mm", in_mm), ("up_mm", up_mm)):
        if not math.isfinite(mm) or abs(mm) > FARTHEST_MM:
            raise ClinicalInputError(
                name, msg("A decentration of %(mm)s mm cannot be; at most %(most)s mm either way would.", mm=f"{mm:g}", most=f"{FARTHEST_MM:g}")
            )
    nasal = 1.0 if eye is Laterality.RIGHT else -1.0  # the nose lies to the examiner's right of the child's right eye
    across, up = nasal * in_mm / 10, up_mm / 10
    axis = math.radians(rx.axis or 0.0)
    crossing = rx.cylinder * (up * math.cos(axis) - across * math.sin(axis))  # the shift across the axis, by the cylinder
    horizontal = nasal * (rx.sphere * across - crossing * math.sin(axis))
    vertical = rx.sphere * up + crossing * math.cos(axis)
    return Prism(horizontal + 0.0, vertical + 0.0, (_sphere_step(rx, in_mm, up_mm), *_cylinder_steps(rx, crossing)))


def _sphere_step(rx: SpheroCylinder, in_mm: float, up_mm: float) -> Message:
    return msg(
        "sphere %(sphere)s × %(across)s cm in and %(up)s cm up = %(horizontal)s and %(vertical)s",
        sphere=Quantity(rx.sphere, Unit.DIOPTRE),
        across=f"{in_mm / 10:g}",
        up=f"{up_mm / 10:g}",
        horizontal=Quantity(rx.sphere * in_mm / 10, Unit.PRISM_DIOPTRE),
        vertical=Quantity(rx.sphere * up_mm / 10, Unit.PRISM_DIOPTRE),
    )


def _cylinder_steps(rx: SpheroCylinder, crossing: float) -> tuple[Message, ...]:
    if not rx.cylinder:
        return ()
    text = msg(
        "cylinder %(cylinder)s × the shift across its axis = %(prism)s across the axis, resolved into horizontal and vertical",
        cylinder=Quantity(rx.cylinder, Unit.DIOPTRE),
        prism=Quantity(crossing, Unit.PRISM_DIOPTRE),
    )
    return (text,)
