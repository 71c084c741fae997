"""Which readings of a course a rule may rest on."""

from shared.course.review_facts import Reading, ReviewFacts

TOLERANCE = 1e-9  # of logMAR and octaves, for the arithmetic alone


def reliable(readings: tuple[Reading, ...]) -> list[Reading]:
    """Readings that may trigger a rule."""
    return [r for r in readings if r.reliable]


def since_baseline(f: ReviewFacts, readings: tuple[Reading, ...]) -> list[Reading]:
    """Readings that may trigger a rule, from the day on which the comparison began anew (common practice: after squint surgery)."""
    return [r for r in reliable(readings) if f.baseline_from is None or r.on >= f.baseline_from]
