"""Full-time occlusion wants its review sooner; a shorter dose, or a review in time, says nothing."""

import pytest

from shared.treatment.full_time import full_time_review
from shared.vocabulary import Status
from tests.shared.messages import check


@pytest.mark.parametrize(
    ("minutes", "months", "waking_hours", "weeks", "said"),
    [
        (720, 60, 12.0, 4.1, True),
        (660, 60, 12.0, 4.1, True),  # all waking hours but one, as ATS2A calls full-time
        (659, 60, 12.0, 4.1, False),
        (660, 60, 12.0, 4.0, False),  # capped at four weeks
        (660, 24, 12.0, 2.0, False),  # a week for each year of age (from memory)
        (660, 24, 12.0, 2.1, True),
        (660, 5, 12.0, 1.0, False),
        (660, 5, 12.0, 1.1, True),
        (749, 60, None, 8.0, False),  # Galland 2012: 13.49 h awake at five years
        (750, 60, None, 8.0, True),
        (960, 200, None, 8.0, False),  # how long a teenager is awake is not known here
    ],
)
def test_when_it_speaks(minutes: int, months: int, waking_hours: float | None, weeks: float, said: bool) -> None:
    found = full_time_review(minutes, months, waking_hours, weeks)
    check(found)
    assert (found is not None) is said
    assert found is None or found.status is Status.MEMORY
