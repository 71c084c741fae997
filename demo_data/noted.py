"""What the demo's households note in the evening."""

from datetime import date

from service.actions import wear

# What a household noted of one day: a share of the prescribed time, or what got in the way; None: nothing was noted.
Noted = float | wear.NotWornReason | None
REFUSED, SKIN, FORGOT = wear.NotWornReason.REFUSED, wear.NotWornReason.SKIN, wear.NotWornReason.FORGOT
ILL, TRAVELLING = wear.NotWornReason.ILL, wear.NotWornReason.TRAVELLING
STEADY: tuple[Noted, ...] = (1.0, 1.0, 0.75, 1.0, None, 1.0, 0.5, 1.0, 1.0, REFUSED, 1.0, 0.75, 1.0, None)
UNEVEN: tuple[Noted, ...] = (1.0, 0.5, 1.0, 1.0, 0.6, REFUSED, None, 1.0, 0.75, 1.0, ILL, 0.5, 1.0, TRAVELLING, None, 1.0, 0.9)
FAITHFUL: tuple[Noted, ...] = (1.0, 1.0, 0.9, 1.0, 0.75, 1.0, 1.0, None, 1.0, 1.0, 1.0)
HARD: tuple[Noted, ...] = (REFUSED, 0.25, None, SKIN, SKIN, REFUSED, None, FORGOT, 0.5, None, REFUSED, ILL, 0.25, None)
GLASSES_OFF_EVERY = 13  # days: now and then the glasses or the lens were off


def noted_as(on: date, noted: float | wear.NotWornReason, prescribed: int, correction_worn: bool) -> wear.Said:
    """The tap that says so of a date."""
    key = f"demo-{on.isoformat()}"
    if not prescribed:  # glasses alone: what got in the way got in their way
        return wear.Said(on, wear.How.CORRECTION_ONLY, None, None, isinstance(noted, float) and correction_worn, key)
    if isinstance(noted, wear.NotWornReason):
        return wear.Said(on, wear.How.NONE, None, noted, None, key)
    if noted == 1.0:
        return wear.Said(on, wear.How.ALL, None, None, correction_worn, key)
    return wear.Said(on, wear.How.SOME, _in_fives(prescribed * noted), None, correction_worn, key)


def _in_fives(minutes: float) -> int:
    return max(5, int(minutes // 5) * 5)
