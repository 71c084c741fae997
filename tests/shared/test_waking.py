"""Waking hours: the family's own, else the published equation, beside the range of a consensus."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.errors import ClinicalInputError
from shared.treatment.waking import waking, waking_range
from shared.vocabulary import Status
from tests.shared.messages import check


def test_the_familys_own_hours_come_first() -> None:
    found = waking(10, 11.5)
    assert (found.hours, found.sources, found.status) == (11.5, (), Status.READ)


@pytest.mark.parametrize(("months", "hours"), [(0, 9.56), (3, 10.44), (8, 11.0), (12, 11.32), (48, 13.08), (144, 15.65)])
def test_the_sleep_equation_worked_by_hand(months: int, hours: float) -> None:
    # Galland 2012, Sleep Med Rev 16:213-22: 24 - (10.49 - 5.56 ((age/10)^0.5 - 0.71)), age in years
    assert waking(months).hours == pytest.approx(hours, abs=0.01)


@pytest.mark.parametrize(
    ("months", "expected"),
    # Paruthi 2016, J Clin Sleep Med 12:785-6: 12-16, 11-14, 10-13, 9-12 and 8-10 h of sleep, taken from 24
    [(3, None), (4, (8, 12)), (11, (8, 12)), (12, (10, 13)), (35, (10, 13)), (36, (11, 14)), (48, (11, 14)), (72, (12, 15)), (156, (14, 16)), (228, None)],
)
def test_the_range_of_the_consensus(months: int, expected: tuple[float, float] | None) -> None:
    found = waking_range(months)
    assert (None if found is None else (found.least, found.most)) == expected


@pytest.mark.parametrize(("months", "said", "warned"), [(10, 12.0, False), (10, 12.5, True), (10, 7.5, True), (2, 5.0, False), (48, None, False)])
def test_hours_outside_the_range_are_asked_about(months: int, said: float | None, warned: bool) -> None:
    found = waking(months, said)
    check(found)
    assert (found.caution is not None) is warned


@given(st.integers(0, 144))
def test_the_equation_stays_within_its_own_domain_and_rises_with_age(months: int) -> None:
    assert 9.5 < waking(months).hours < 15.7
    assert months == 0 or waking(months).hours > waking(months - 1).hours


@pytest.mark.parametrize(
    ("months", "said", "field"), [(145, None, "age_months"), (-1, None, "age_months"), (10, 3.9, "waking_hours"), (10, float("nan"), "waking_hours")]
)
def test_what_is_outside_is_refused(months: int, said: float | None, field: str) -> None:
    with pytest.raises(ClinicalInputError) as refused:
        waking(months, said)
    assert refused.value.field == field
