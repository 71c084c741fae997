"""Acuity below any chart: counting fingers, hand movements, light perception, none. Papers differ in what the first two are worth: each is a named table."""

import math
from enum import StrEnum

from shared.sources import number


class LowVisionTable(StrEnum):
    """Which paper puts a logMAR to counting fingers and hand movements; the value is its key in `published/`."""

    LANGE_2009 = "lange-2009"
    SCHULZE_BONSEL_2006 = "schulze-bonsel-2006"


# From the least bad to the worst: categories are ordered although they have no difference.
_NAMES = (("cf", "counting fingers"), ("hm", "hand movements"), ("lp", "light perception"), ("nlp", "no light perception", "none"))


def category_rank(typed: str) -> int:
    """1 to 4 from counting fingers to no light perception: higher is worse; 0 for what is none of these words."""
    return next((rank for rank, names in enumerate(_NAMES, start=1) if typed.casefold() in names), 0)


def category_logmar(rank: int, table: LowVisionTable) -> float | None:
    """logMAR of a category by this table; None for light perception and none, which no table measures."""
    if table is LowVisionTable.SCHULZE_BONSEL_2006:
        printed = {1: number("schulze-bonsel-2006", "counting_fingers"), 2: number("schulze-bonsel-2006", "hand_movements")}
        return -math.log10(printed[rank].value) if rank in printed else None
    in_logmar = {1: number("lange-2009", "counting_fingers"), 2: number("lange-2009", "hand_movements")}
    return in_logmar[rank].value if rank in in_logmar else None
