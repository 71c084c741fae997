"""Lenses: what must hold for every power, and what is refused."""

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from shared.aphakia import BUILT_IN_RANGE, LensRange, contact_lens, near_overcorrection, spectacles
from shared.errors import ClinicalInputError
from shared.refraction import (
    SpheroCylinder,
    at_vertex_distance,
    from_power_vector,
    net_of_working_distance,
    over_refraction_at_cornea,
    rounded,
)
from shared.vocabulary import OpticalStatus, Status

lenses = st.builds(SpheroCylinder, st.floats(-20, 20), st.floats(-4, 4), st.floats(1, 180))
distances = st.floats(0, 20)


def same(one: SpheroCylinder, other: SpheroCylinder) -> bool:
    return all(math.isclose(a, b, abs_tol=1e-9) for a, b in zip(one.power_vector(), other.power_vector(), strict=True))


@given(lenses, distances, distances)
def test_there_and_back_is_the_same_lens(lens: SpheroCylinder, one: float, other: float) -> None:
    there = at_vertex_distance(lens, one, other).exact
    assert same(at_vertex_distance(there, other, one).exact, lens)


@given(lenses, distances)
def test_each_principal_meridian_moves_by_itself(lens: SpheroCylinder, mm: float) -> None:
    """The same by the 2 x 2 ray transfer matrices of a lens and a gap (paraxial optics): power of the pair seen from the cornea."""
    moved = at_vertex_distance(lens, mm, 0).exact
    for power, at_cornea in ((lens.sphere, moved.sphere), (lens.sphere + lens.cylinder, moved.sphere + moved.cylinder)):
        # system matrix of a gap d behind a lens F: [[1 - dF, d], [-F, 1]]; back vertex power at the cornea is F / (1 - dF)
        a, c = 1 - mm / 1000 * power, -power
        assert at_cornea == pytest.approx(-c / a, rel=1e-9, abs=1e-9)


@given(lenses)
def test_transposition_changes_the_form_and_not_the_lens(lens: SpheroCylinder) -> None:
    turned = lens.transposed()
    assert same(turned, lens) and turned.spherical_equivalent == pytest.approx(lens.spherical_equivalent)
    assert same(turned.transposed(), lens) and turned.cylinder == -lens.cylinder
    assert turned.axis is not None and 0 < turned.axis <= 180


@given(st.lists(lenses, min_size=2, max_size=4))
def test_a_sum_of_lenses_does_not_ask_for_their_order(several: list[SpheroCylinder]) -> None:
    totals = [sum(parts) for parts in zip(*(lens.power_vector() for lens in several), strict=True)]
    assume(all(abs(t) < 15 for t in totals))

    def add(order: list[SpheroCylinder]) -> SpheroCylinder:
        total = order[0]
        for lens in order[1:]:
            total = total.plus(lens)
        return total

    try:
        forth, back = add(several), add(several[::-1])
    except ClinicalInputError:
        return  # an intermediate sum beyond any lens
    assert same(forth, back) and forth.power_vector() == pytest.approx(totals, abs=1e-9)


@given(st.floats(-20, 20), st.floats(-3, 3), st.floats(-3, 3))
def test_a_power_vector_comes_back(m: float, j0: float, j45: float) -> None:
    assert from_power_vector(m, j0, j45).power_vector() == pytest.approx((m, j0, j45), abs=1e-9)


@given(lenses, st.sampled_from([0.125, 0.25, 0.5, 1.0]))
def test_rounding_moves_no_meridian_by_more_than_half_a_step_and_ties_go_to_more_plus(lens: SpheroCylinder, step: float) -> None:
    r = rounded(lens, step)
    for exact, near in ((lens.sphere, r.sphere), (lens.sphere + lens.cylinder, r.sphere + r.cylinder)):
        assert abs(near - exact) <= step / 2 + 1e-9 and near / step == pytest.approx(round(near / step))
    assert rounded(SpheroCylinder(step / 2), step).sphere == step and rounded(SpheroCylinder(-step / 2), step).sphere == 0


@pytest.mark.parametrize(
    ("make", "field"),
    [
        (lambda: SpheroCylinder(80), "sphere"),
        (lambda: SpheroCylinder(math.nan), "sphere"),
        (lambda: SpheroCylinder(math.inf), "sphere"),
        (lambda: SpheroCylinder(1, 40, 90), "cylinder"),
        (lambda: SpheroCylinder(1, 1), "axis"),
        (lambda: SpheroCylinder(1, 1, 200), "axis"),
        (lambda: SpheroCylinder(1, 1, -1), "axis"),
        (lambda: at_vertex_distance(SpheroCylinder(10), 120, 0), "from_vertex_distance_mm"),
        (lambda: at_vertex_distance(SpheroCylinder(10), 12, -1), "to_vertex_distance_mm"),
        (lambda: at_vertex_distance(SpheroCylinder(50), 30, 0), "sphere"),
        (lambda: rounded(SpheroCylinder(1), 0), "step"),
        (lambda: rounded(SpheroCylinder(1), math.nan), "step"),
        (lambda: net_of_working_distance(SpheroCylinder(1), 5), "working_distance_cm"),
        (lambda: contact_lens(SpheroCylinder(49), 3, BUILT_IN_RANGE), "power"),
    ],
)
def test_what_cannot_be_is_refused_by_name(make, field: str) -> None:
    with pytest.raises(ClinicalInputError) as refused:
        make()
    assert refused.value.field == field


def test_an_axis_of_nought_is_180() -> None:
    assert SpheroCylinder(1, 1, 0).axis == 180


@given(st.floats(1, 35), lenses, distances)
def test_a_spherical_trial_lens_adds_to_each_meridian_at_the_cornea(trial: float, over: SpheroCylinder, mm: float) -> None:
    moved = at_vertex_distance(over, mm, 0).exact
    try:
        total = over_refraction_at_cornea(SpheroCylinder(trial), over, mm).exact
    except ClinicalInputError:
        assert not -40 <= trial + moved.sphere <= 50
        return
    assert (total.sphere, total.cylinder, total.axis) == pytest.approx((trial + moved.sphere, moved.cylinder, moved.axis))


@given(st.floats(-19, 39), st.floats(0, 0.9))
def test_near_is_added_once_whatever_the_plane(power: float, near: float) -> None:
    lens = contact_lens(SpheroCylinder(power), near, BUILT_IN_RANGE)
    assert lens.exact_with_near - lens.exact_distance == pytest.approx(near)
    assert lens.power + lens.residual == pytest.approx(lens.exact_with_near) and lens.power in BUILT_IN_RANGE.powers
    glasses = spectacles(SpheroCylinder(power), 12, near, 0.25)
    assert glasses.exact.sphere - glasses.exact_distance.sphere == pytest.approx(near)


def test_a_lens_range_gives_its_nearest_power_ties_to_more_plus_and_refuses_beyond_its_ends() -> None:
    uneven = LensRange("uneven", (10.0, 10.5, 12.0), Status.COMMON_PRACTICE)
    assert uneven.nearest(10.25) == (10.5, -0.25)
    assert uneven.nearest(11.25)[0] == 12.0
    assert uneven.nearest(12.7)[0] == 12.0
    for outside in (9.7, 12.8):
        with pytest.raises(ClinicalInputError):
            uneven.nearest(outside)
    assert list(BUILT_IN_RANGE.powers) == sorted(set(BUILT_IN_RANGE.powers))


def test_near_overcorrection_is_for_aphakic_eyes_below_two_years_and_says_that_its_limit_is_from_memory() -> None:
    def amount(months: int, status: OpticalStatus) -> float:
        value = near_overcorrection(months, status).value
        assert value
        return value.value

    assert [amount(m, OpticalStatus.APHAKIC) for m in (1, 23, 24, 60)] == [2.0, 2.0, 0.0, 0.0]
    assert amount(3, OpticalStatus.PHAKIC) == amount(3, OpticalStatus.PSEUDOPHAKIC) == 0.0
    assert near_overcorrection(3, OpticalStatus.APHAKIC).status is Status.MEMORY
