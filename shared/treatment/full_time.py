"""Full-time occlusion, by whoever's decision: it is seen again sooner."""

from shared.errors import ClinicalInputError
from shared.findings import Finding, Quantity, Unit, Weight, msg
from shared.treatment.alternative_rows import FULL_TIME
from shared.treatment.waking import Waking, waking
from shared.vocabulary import Status

_BUT_ONE_HOUR = 1.0  # "all waking hours or all but one": ATS2A's own words for full-time


def full_time_review(minutes_per_day: int, age_months: int, waking_hours: float | None, weeks_to_review: float) -> Finding | None:
    """What to say of a daily dose of all waking hours, or all but one, whose review is later than a week for each year of age (from memory).

    Minutes on every day, the age in completed months, the family's own waking hours where they gave any, weeks until the review. None below that dose
    or within that time, and where the waking hours are not known.
    """
    awake, weeks = _awake(age_months, waking_hours), FULL_TIME.review_weeks(age_months)
    if awake is None or weeks is None or not _fills(minutes_per_day, awake) or weeks_to_review <= weeks:
        return None
    text = msg(
        "This is full-time occlusion: the covered eye can lose sight, so look after %(weeks)s (a week for each year of age); this plan runs for %(here)s.",
        weeks=Quantity(weeks, Unit.WEEKS),
        here=Quantity(weeks_to_review, Unit.WEEKS),
    )
    status = Status.weakest(FULL_TIME.status, awake.status)
    return Finding("full-time-review", text, status, (*FULL_TIME.sources, *awake.sources), working=awake.steps, weight=Weight.CHECK)


def is_full_time(minutes_per_day: int, age_months: int, waking_hours: float | None) -> bool:
    """Whether minutes of a day are all waking hours, or all but one; not said at an age of which no waking hours are known."""
    awake = _awake(age_months, waking_hours)
    return awake is not None and _fills(minutes_per_day, awake)


def _fills(minutes_per_day: int, awake: Waking) -> bool:
    return minutes_per_day >= (awake.hours - _BUT_ONE_HOUR) * 60


def _awake(age_months: int, waking_hours: float | None) -> Waking | None:
    try:
        return waking(age_months, waking_hours)
    except ClinicalInputError:
        return None
