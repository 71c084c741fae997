"""Gratings: cycles/degree, cards printed in cycles/cm and read at a distance, octaves."""

import math
from enum import StrEnum

from shared.errors import ClinicalInputError
from shared.findings import Quantity, Unit, msg
from shared.sources import number

GRATING_LOGMAR_0 = 30.0  # cycles/degree at 0.0 logMAR, by definition: half a cycle is one minute of arc
NEAREST_CM, FARTHEST_CM = 10.0, 1000.0


class CardRule(StrEnum):
    """How cycles/cm at a distance become cycles/degree; the two are 4 % apart."""

    CARD_55_CM = "card-55-cm"
    EXACT = "exact-trigonometry"

    @property
    def one_degree_cm(self) -> float:
        """The distance in cm at which 1 cm is taken as one degree: the cards' printed 55, or 1 / tan(1 degree)."""
        return number("grating-card-rule", "distance").value if self is CardRule.CARD_55_CM else 1 / math.tan(math.radians(1))


def cycles_per_degree(cycles_per_cm: float, distance_cm: float, rule: CardRule = CardRule.CARD_55_CM) -> float:
    """Cycles/degree of a card of cycles/cm at a distance in cm. Raises `ClinicalInputError` naming `cycles_per_cm` or `distance_cm`."""
    if not math.isfinite(cycles_per_cm) or cycles_per_cm <= 0:
        raise ClinicalInputError("cycles_per_cm", msg("A card of %(cards)s cycles/cm cannot be.", cards=f"{cycles_per_cm:g}"))
    if not math.isfinite(distance_cm) or not NEAREST_CM <= distance_cm <= FARTHEST_CM:
        low, high = Quantity(NEAREST_CM, Unit.CENTIMETRE), Quantity(FARTHEST_CM, Unit.CENTIMETRE)
        raise ClinicalInputError(
            "distance_cm", msg("A test distance of %(cm)s cm cannot be; %(low)s to %(high)s would.", cm=f"{distance_cm:g}", low=low, high=high)
        )
    return cycles_per_cm * distance_cm / rule.one_degree_cm


def grating_logmar(cpd: float) -> float:
    """logMAR of a grating of `cpd` cycles/degree: log10(30 / cpd)."""
    return math.log10(GRATING_LOGMAR_0 / cpd)


def octaves(finer_cpd: float, coarser_cpd: float) -> float:
    """How many octaves the second grating is coarser than the first, both in cycles/degree; negative where it is finer."""
    return math.log2(finer_cpd / coarser_cpd)
