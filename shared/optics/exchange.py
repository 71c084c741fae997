"""Slips of the pen: values exchanged between the eyes, and values far from the last ones. They are asked about, never refused (common practice)."""

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median

Pair = tuple[float, float]  # right, left


@dataclass(frozen=True)
class Limits:
    """In the measure's own unit: how much better the exchanged order must fit, and how far a value may lie from the last three."""

    exchanged: float
    far: float


LOGMAR = Limits(0.3, 0.5)
GRATING = Limits(0.3, 1.0)  # in logMAR: an infant's gratings become several times finer within months
DIOPTRES = Limits(3.0, 4.0)
MILLIMETRES = Limits(1.0, 2.0)


def looks_exchanged(now: Pair, before: Pair, limits: Limits) -> bool:
    """Whether right and left fit the eyes of the last visit better, by more than the limit, when they change places. Same unit throughout."""
    as_typed = abs(now[0] - before[0]) + abs(now[1] - before[1])
    exchanged = abs(now[0] - before[1]) + abs(now[1] - before[0])
    return as_typed - exchanged > limits.exchanged


def looks_far(now: float, last: Sequence[float], limits: Limits) -> bool:
    """Whether a value lies further than the limit, in its own unit, from the median of the last three (none asks nothing)."""
    return bool(last) and abs(now - median(last[-3:])) > limits.far


DISAGREE_DIOPTRES = 1.0


def disagree(refraction: float, over_lens: float) -> bool:
    """Whether an eye's refraction and its trial lens with over-refraction, spherical equivalents at the cornea in D, lie too far apart (common practice)."""
    return abs(refraction - over_lens) > DISAGREE_DIOPTRES + 1e-9


OPPOSITE_LEAST_DIOPTRES = 1.0
OPPOSITE_APART_DIOPTRES = 0.5


def looks_like_exchanged_lenses(right: float, left: float) -> bool:
    """Whether the over-refractions of two worn lenses (spherical equivalents, D) are equal and opposite: each may be in the other eye (common practice)."""
    return min(abs(right), abs(left)) >= OPPOSITE_LEAST_DIOPTRES and abs(right + left) <= OPPOSITE_APART_DIOPTRES
