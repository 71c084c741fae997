"""The index of a course, and where it has none."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.course.response_index import response_index
from shared.errors import ClinicalInputError


@given(st.floats(1, 5000), st.floats(0.02, 1.5))
def test_twice_the_hours_are_twice_the_index_and_half_the_gain_too(hours: float, gain: float) -> None:
    one, more, less = response_index(hours, gain).value, response_index(2 * hours, gain).value, response_index(hours, gain / 2).value
    assert one and more and less
    assert more.value == pytest.approx(2 * one.value) == pytest.approx(less.value)


@pytest.mark.parametrize(
    ("hours", "gain", "field"),
    [(100, 0.0, "gain_logmar"), (100, -0.1, "gain_logmar"), (0, 0.2, "received_hours"), (4e-132, 0.2, "received_hours"), (float("nan"), 0.2, "received_hours")],
)
def test_without_a_gain_or_hours_there_is_no_index(hours: float, gain: float, field: str) -> None:
    with pytest.raises(ClinicalInputError) as refused:
        response_index(hours, gain)
    assert refused.value.field == field
