"""The list for the next anaesthetic. The intervals are common practice and have no source; what is checked is how they are counted."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.course.anaesthetic import Measurement, Standing, oldest_months, standing, wanted
from shared.dates import month_on
from shared.vocabulary import OpticalStatus

BORN = date(2025, 1, 31)


def test_what_an_eye_is_measured_for_goes_by_its_status_and_its_lens() -> None:
    assert Measurement.STITCHES not in wanted(OpticalStatus.PHAKIC, False) and Measurement.STITCHES in wanted(OpticalStatus.PSEUDOPHAKIC, False)
    assert Measurement.LENS_FIT in wanted(OpticalStatus.APHAKIC, True) and Measurement.LENS_FIT not in wanted(OpticalStatus.APHAKIC, False)
    assert wanted(OpticalStatus.ABSENT, True) == ()


@pytest.mark.parametrize(
    ("last_on", "on", "expected"),
    [
        (None, date(2025, 6, 1), Standing.MISSING),
        (date(2025, 3, 1), date(2025, 5, 31), Standing.RECENT),
        (date(2025, 3, 1), date(2025, 6, 1), Standing.STALE),
        (date(2026, 12, 1), date(2027, 5, 31), Standing.RECENT),
        (date(2026, 12, 1), date(2027, 6, 1), Standing.STALE),
    ],
)
def test_a_measurement_is_stale_after_three_completed_months_and_six_from_two_years_on(last_on: date | None, on: date, expected: Standing) -> None:
    assert standing(last_on, BORN, on) is expected


@given(st.integers(0, 3000), st.integers(0, 1000))
def test_once_stale_it_stays_stale_while_the_limit_does_not_change(days: int, later: int) -> None:
    last_on = BORN + timedelta(days=days)
    on = month_on(last_on, oldest_months(BORN, last_on))
    if oldest_months(BORN, on) == oldest_months(BORN, last_on):
        assert standing(last_on, BORN, on) is Standing.STALE and standing(last_on, BORN, on - timedelta(days=1)) is Standing.RECENT
    assert standing(last_on, BORN, on + timedelta(days=later)) is not Standing.MISSING
