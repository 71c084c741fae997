"""Published courses of length and cornea, each inside its own ages."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.errors import ClinicalInputError
from shared.growing.axial_length import cataract_course, doubling_course, ends_of_growth, group_of_age, growth_of_suspects, infant_course
from tests.shared.messages import check


@given(st.floats(0.1, 5), st.floats(1.01, 2))
def test_eyes_grow(age: float, times: float) -> None:
    later = age * times
    assert doubling_course(later)[0] > doubling_course(age)[0]
    assert cataract_course(later) > cataract_course(age)
    if age >= 0.25 and later <= 6.5:
        assert all(infant_course(later, girl=girl)[0] > infant_course(age, girl=girl)[0] for girl in (True, False))


def test_the_months_of_eyes_with_cataract_have_no_jumps() -> None:
    for month in (6, 18):
        assert cataract_course((month - 1e-6) / 12) == pytest.approx(cataract_course((month + 1e-6) / 12), abs=1e-4)


def test_a_doubling_of_age_is_the_same_at_every_age() -> None:
    assert doubling_course(8)[0] - doubling_course(4)[0] == pytest.approx(doubling_course(0.5)[0] - doubling_course(0.25)[0])


def test_girls_eyes_are_shorter_and_steeper() -> None:
    (girl, girl_k), (boy, boy_k) = infant_course(2, girl=True), infant_course(2, girl=False)
    assert girl < boy
    assert girl_k > boy_k


@pytest.mark.parametrize(
    ("course", "years"),
    [
        (doubling_course, 0.0),
        (doubling_course, 0.08),
        (doubling_course, 10.1),
        (cataract_course, -0.1),
        (cataract_course, 10.1),
        (lambda y: infant_course(y, girl=True), 0.24),
        (lambda y: infant_course(y, girl=True), 6.6),
        (group_of_age, 8.0),  # between the groups
        (group_of_age, 15.5),
        (group_of_age, float("nan")),
        (lambda y: growth_of_suspects(0.01, y), 2.0),
        (lambda y: growth_of_suspects(0.2, y), 5.1),
    ],
)
def test_no_course_is_carried_beyond_its_ages(course: object, years: float) -> None:
    with pytest.raises(ClinicalInputError) as refused:
        course(years)  # type: ignore[operator]
    assert refused.value.field == "age_years"


def test_the_groups_of_age_are_steps() -> None:
    assert group_of_age(1.0) == group_of_age(1.99) != group_of_age(2.0)
    assert group_of_age(15.0) == group_of_age(12.0)


def test_the_ends_of_growth_are_told_with_their_source() -> None:
    check(ends_of_growth())
    assert [f.value.value for f in ends_of_growth() if f.value] == [16.8, 23.6]
