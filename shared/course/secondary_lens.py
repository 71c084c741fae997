"""What should be on record before a secondary lens: which items, of which eye, and how each stands on a day (a practice list, from memory)."""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from shared.course.anaesthetic import Standing, standing
from shared.dates import completed_months

ENDOTHELIUM_FROM_MONTHS = 60  # a younger child rarely sits still for it ("if older", from memory)


class Item(StrEnum):
    """What is to be held."""

    AXIAL_LENGTH = "axial-length"
    KERATOMETRY = "keratometry"
    ANTERIOR_CHAMBER = "anterior-chamber"
    CORNEAL_DIAMETER = "corneal-diameter"
    REFRACTION = "refraction"
    LENS_POWERS = "lens-powers"
    PRESSURE = "pressure"
    CAPSULE = "capsule"
    ENDOTHELIUM = "endothelium"
    ACUITY = "acuity"


_BOTH_EYES = (Item.AXIAL_LENGTH, Item.KERATOMETRY, Item.REFRACTION, Item.ACUITY)
_NEVER_STALE = (Item.LENS_POWERS, Item.CAPSULE)  # a history, and what the first surgeon left behind


@dataclass(frozen=True)
class Needed:
    """One item of the eye to be operated on, or of its fellow for comparison."""

    item: Item
    fellow: bool


def needed(born_on: date, on: date) -> tuple[Needed, ...]:
    """The items for a day, the operated eye's first (practice list, from memory). Raises `ClinicalInputError` for a day before birth."""
    older = completed_months(born_on, on) >= ENDOTHELIUM_FROM_MONTHS
    own = tuple(Needed(item, fellow=False) for item in Item if older or item is not Item.ENDOTHELIUM)
    return own + tuple(Needed(item, fellow=True) for item in _BOTH_EYES)


def item_standing(item: Item, last_on: date | None, born_on: date, on: date) -> Standing:
    """As every measurement stands (`shared.course.anaesthetic`), except for what does not age: the powers worn so far, and the capsule."""
    stands = standing(last_on, born_on, on)
    return Standing.RECENT if stands is Standing.STALE and item in _NEVER_STALE else stands
