"""Slips of the pen: asked about when the other order fits better, or a value leaps."""

from hypothesis import given
from hypothesis import strategies as st

from shared.optics.exchange import LOGMAR, disagree, looks_exchanged, looks_far

values = st.floats(-0.3, 2.0)


@given(values, values)
def test_eyes_that_changed_places_are_noticed_when_they_differ_enough(right: float, left: float) -> None:
    assert looks_exchanged((left, right), (right, left), LOGMAR) is (2 * abs(right - left) > LOGMAR.exchanged)
    assert not looks_exchanged((right, left), (right, left), LOGMAR)


@given(values, values, values, values)
def test_exchanging_twice_asks_the_same(a: float, b: float, c: float, d: float) -> None:
    assert looks_exchanged((a, b), (c, d), LOGMAR) is looks_exchanged((b, a), (d, c), LOGMAR)
    assert not (looks_exchanged((a, b), (c, d), LOGMAR) and looks_exchanged((b, a), (c, d), LOGMAR))


def test_far_is_against_the_median_of_the_last_three_and_the_first_visit_asks_nothing() -> None:
    assert not looks_far(1.0, [], LOGMAR)
    assert looks_far(1.0, [0.3, 0.4, 0.3], LOGMAR) and not looks_far(0.8, [0.3, 0.4, 0.3], LOGMAR)
    assert not looks_far(1.0, [0.1, 0.9, 1.0, 0.9], LOGMAR), "older visits do not count"


@given(st.floats(-20, 40), st.floats(0, 3))
def test_two_measurements_of_one_eye_disagree_beyond_one_dioptre_whichever_is_the_higher(power: float, apart: float) -> None:
    assert not disagree(18.25, 19.25) and disagree(18.25, 19.26), "the limit itself is within it (common practice)"
    assert disagree(power, power + apart) is disagree(power + apart, power) is (abs(power - (power + apart)) > 1.0 + 1e-9)
