"""How a course of treatment is measured: Stewart, Moseley and Fielder 2003 (`stewart-2003`, read). logMAR, lower is better."""

from shared.errors import ClinicalInputError
from shared.findings import msg


def residual_amblyopia(amblyopic_end: float, fellow_end: float) -> float:
    """What is left, in logMAR: amblyopic minus fellow eye at the end (Stewart 2003)."""
    return amblyopic_end - fellow_end


def proportional_improvement(amblyopic_start: float, amblyopic_end: float, fellow_end: float) -> float:
    """The share of the deficit that was made good: (start - end) / (start - fellow's end), all logMAR (Stewart 2003).

    Above 1 the amblyopic eye ends better than the fellow eye, below 0 it got worse. Loses accuracy when the fellow eye itself drops.
    Raises `ClinicalInputError` naming `fellow_end` where there was no deficit.
    """
    deficit = amblyopic_start - fellow_end
    if deficit == 0:
        raise ClinicalInputError("fellow_end", msg("The amblyopic eye began where the fellow eye ended: there was no deficit to make good."))
    return (amblyopic_start - amblyopic_end) / deficit
