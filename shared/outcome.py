"""How a course of treatment is measured: Stewart, Moseley and Fielder 2003 (read). logMAR, lower is better."""

from shared.errors import ClinicalInputError
from shared.findings import msg


def residual_amblyopia(amblyopic_end: float, fellow_end: float) -> float:
    """What is left, in logMAR: amblyopic minus fellow eye at the end (Stewart 2003)."""
    return amblyopic_end - fellow_end


def proportional_improvement(amblyopic_start: float, amblyopic_end: float, fellow_start: float) -> float:
    """The share of the deficit that was made good: (start - end) / (start - fellow's start), all logMAR (Stewart 2003).

    Above 1 the amblyopic eye ends better than the fellow eye began, below 0 it got worse. Loses accuracy when the fellow eye itself drops.
    Raises `ClinicalInputError` naming `fellow_start` where there was no deficit.
    """
    deficit = amblyopic_start - fellow_start
    if deficit == 0:
        raise ClinicalInputError("fellow_start", msg("Both eyes began alike: there was no deficit of which a share could be made good."))
    return (amblyopic_start - amblyopic_end) / deficit
