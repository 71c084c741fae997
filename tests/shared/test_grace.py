"""How far a plan may go on unseen: never more than two weeks, less for more hours and younger children, not at all full-time (common practice)."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.treatment.grace import LONGEST_DAYS, longest_grace
from tests.shared.messages import check

MINUTES, MONTHS = st.integers(0, 16 * 60), st.integers(0, 200)


@pytest.mark.parametrize(
    ("minutes", "months", "waking_hours", "days"),
    [
        (120, 60, None, 14),
        (121, 60, None, 7),
        (361, 60, None, 3),
        (120, 35, None, 7),
        (60, 11, None, 3),
        (660, 60, 12.0, 0),  # all waking hours but one
        (720, 60, 12.0, 0),
        (0, 60, None, 14),  # glasses alone
        (720, 200, None, 3),  # how long a teenager is awake is not known here
    ],
)
def test_the_limit(minutes: int, months: int, waking_hours: float | None, days: int) -> None:
    found = longest_grace(minutes, months, waking_hours)
    check(found.reason)
    assert found.days == days


@given(MINUTES, MINUTES, MONTHS, MONTHS)
def test_more_hours_or_a_younger_child_never_goes_on_longer(fewer: int, more: int, younger: int, older: int) -> None:
    fewer, more, younger, older = min(fewer, more), max(fewer, more), min(younger, older), max(younger, older)
    least, most = longest_grace(more, younger, 12.0).days, longest_grace(fewer, older, 12.0).days
    assert 0 <= least <= most <= LONGEST_DAYS
