"""The one way a number is rounded."""

from decimal import ROUND_FLOOR, Decimal


def round_half_up(value: float, step: float = 1.0) -> float:
    """`value` to the nearest multiple of `step` (same unit); a tie goes up, which for a lens is toward more plus.

    `round()` is not used anywhere: it sends 2.5 to 2. Ties are judged to 1e-9 of a step, so that 0.125 worked out in floats is still a tie.
    """
    steps = Decimal(repr(value)) / Decimal(repr(step))
    whole = (steps + Decimal("0.5") + Decimal("1e-9")).to_integral_value(rounding=ROUND_FLOOR)
    return float(whole * Decimal(repr(step)))
