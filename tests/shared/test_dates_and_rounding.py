"""Completed months on calendar dates, and the one way to round."""

from calendar import monthrange
from datetime import date, timedelta
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shared.dates import completed_months, month_on
from shared.errors import ClinicalInputError
from shared.rounding import round_half_up

births = st.dates(date(2000, 1, 1), date(2030, 12, 31))


@pytest.mark.parametrize(
    ("born_on", "months", "on"),
    [
        (date(2025, 1, 31), 1, date(2025, 2, 28)),
        (date(2024, 1, 31), 1, date(2024, 2, 29)),
        (date(2025, 1, 31), 2, date(2025, 3, 31)),
        (date(2025, 1, 31), 3, date(2025, 4, 30)),
        (date(2025, 10, 31), 4, date(2026, 2, 28)),
        (date(2024, 2, 29), 12, date(2025, 2, 28)),
        (date(2024, 2, 29), 48, date(2028, 2, 29)),
        (date(2025, 12, 15), 1, date(2026, 1, 15)),
        (date(2025, 6, 15), 0, date(2025, 6, 15)),
    ],
)
def test_a_month_is_completed_on_its_day_or_the_months_last(born_on: date, months: int, on: date) -> None:
    assert month_on(born_on, months) == on
    assert completed_months(born_on, on) == months


def test_there_is_no_age_before_birth() -> None:
    with pytest.raises(ClinicalInputError) as refused:
        completed_months(date(2026, 3, 2), date(2026, 3, 1))
    assert refused.value.field == "on"
    assert refused.value.message.params == {"on": date(2026, 3, 1), "born_on": date(2026, 3, 2)}


@given(births, st.integers(0, 240))
def test_month_on_completes_exactly_that_month(born_on: date, months: int) -> None:
    on = month_on(born_on, months)
    assert completed_months(born_on, on) == months
    if months:
        assert completed_months(born_on, on - timedelta(days=1)) == months - 1


@given(births, st.integers(0, 1500))
@settings(max_examples=50)
def test_completed_months_agree_with_counting_the_days(born_on: date, days: int) -> None:
    count, day = 0, born_on
    for _ in range(days):
        day += timedelta(days=1)
        last = monthrange(day.year, day.month)[1]
        count += day.day == born_on.day or (day.day == last and born_on.day > last)
    assert completed_months(born_on, day) == count


@pytest.mark.parametrize(
    ("value", "step", "rounded"),
    [
        (2.5, 1.0, 3.0),
        (3.5, 1.0, 4.0),
        (-2.5, 1.0, -2.0),
        (-0.5, 1.0, 0.0),
        (-0.51, 1.0, -1.0),
        (14.125, 0.25, 14.25),
        (-14.125, 0.25, -14.0),
        (-14.13, 0.25, -14.25),
        (0.1 + 0.025 * 3, 0.05, 0.2),  # 0.17500000000000002 or a little less: a tie all the same
        (0.15, 0.1, 0.2),
        (0.35, 0.1, 0.4),
        (-0.05, 0.1, 0.0),
        (1.0, 0.5, 1.0),
        (12, 5, 10.0),
    ],
)
def test_a_tie_goes_toward_more_plus(value: float, step: float, rounded: float) -> None:
    assert round_half_up(value, step) == rounded


@given(st.integers(-400, 400), st.sampled_from([0.1, 0.12, 0.25, 0.5, 1.0]))
def test_every_tie_is_one_in_floats_too(steps: int, step: float) -> None:
    """Halfway between two multiples, worked out in floats, goes to the upper one."""
    assert round_half_up((steps + 0.5) * step, step) == pytest.approx((steps + 1) * step, abs=1e-12)


@given(st.floats(-1e4, 1e4), st.sampled_from([0.01, 0.1, 0.25, 0.5, 1.0, 5.0]))
def test_a_rounded_number_is_a_multiple_and_the_nearest(value: float, step: float) -> None:
    rounded = round_half_up(value, step)
    exact = Fraction(str(step))
    assert abs(Fraction(repr(rounded)) / exact - Fraction(repr(rounded)) // exact) == 0
    assert abs(rounded - value) <= step / 2 * (1 + 1e-6)
    assert str(rounded) != "-0.0"
