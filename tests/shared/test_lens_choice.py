"""Base curves from a range by the cornea, and how many lenses a first year took."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.errors import ClinicalInputError
from shared.findings import Quantity, Unit, Weight
from shared.lens_words import LensMaterial
from shared.optics.lens_choice import base_curve, lenses_in_first_year
from shared.optics.lens_range import LensRange, Span
from shared.optics.refraction import keratometric_power
from shared.vocabulary import Status
from tests.shared.messages import check


def range_of(material: LensMaterial | None, *curves: float) -> LensRange:
    return LensRange("r", (Span(20.0, 35.0, 1.0),), Status.COMMON_PRACTICE, base_curves_mm=curves, material=material)


RIGID, SOFT = LensMaterial.RIGID_GAS_PERMEABLE, LensMaterial.SILICONE_ELASTOMER


def test_a_rigid_lens_is_steeper_than_the_cornea_by_what_the_groups_lay_apart() -> None:
    found = base_curve(range_of(RIGID, 6.7, 6.9, 7.1, 7.3), 46.3, 3)  # 46.3 + 1.32 D = 47.62 D = 7.09 mm
    assert found.value == Quantity(7.1, Unit.MILLIMETRE)
    assert (found.weight, found.status) == (Weight.NOTE, Status.MEMORY)  # the habit beside it is from memory
    check(found)


def test_a_rigid_range_without_a_fitting_curve_says_so() -> None:
    found = base_curve(range_of(RIGID, 6.4), 46.3, 3)
    assert (found.value, found.weight) == (Quantity(6.4, Unit.MILLIMETRE), Weight.CHECK)
    check(found)


def test_a_soft_lens_of_an_infant_is_begun_steep_and_later_ones_have_no_published_curve() -> None:
    found = base_curve(range_of(SOFT, 7.3, 7.6, 7.9), 46.3, 17)
    assert (found.value, found.status) == (Quantity(7.6, Unit.MILLIMETRE), Status.MEMORY)
    later = base_curve(range_of(SOFT, 7.3, 7.6, 7.9), 46.3, 18)
    assert later.value is None
    check([found, later])


def test_without_material_or_curves_none_is_proposed() -> None:
    found = [base_curve(range_of(None, 7.5), 46, 3), base_curve(range_of(RIGID), 46, 3), base_curve(range_of(SOFT), 46, 3)]
    assert [f.value for f in found] == [None] * 3
    check(found)


@pytest.mark.parametrize("cornea", [37.0, 61.0, float("nan"), float("inf")])
def test_a_cornea_that_cannot_be_is_refused(cornea: float) -> None:
    with pytest.raises(ClinicalInputError) as refused:
        base_curve(range_of(RIGID, 7.1), cornea, 3)
    assert refused.value.field == "cornea_dioptres"


@given(st.lists(st.sampled_from([6.6, 6.8, 7.0, 7.2, 7.4, 7.6, 7.8]), min_size=1, unique=True), st.floats(40, 52))
def test_no_curve_of_the_range_lies_nearer_by_power(curves: list[float], cornea: float) -> None:
    found = base_curve(range_of(RIGID, *curves), cornea, 3).value
    assert found is not None
    wanted = cornea + 47.62 - 46.3
    assert all(abs(keratometric_power(found.value) - wanted) <= abs(keratometric_power(other) - wanted) + 1e-9 for other in curves)


def test_the_lenses_of_a_first_year_are_told_below_one_year_and_count_every_reason() -> None:
    (found,) = lenses_in_first_year(11)
    assert "every reason" in found.message.text
    assert found.message.params["soft"] == "10.9"
    assert lenses_in_first_year(12) == ()
    check(found)
