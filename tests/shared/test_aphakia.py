"""Lenses for an eye without its own: the choice from a range, near added once."""

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.errors import ClinicalInputError
from shared.findings import Quantity, Unit, Weight
from shared.optics.aphakia import contact_lens, spectacle_magnification, spectacles
from shared.optics.lens_range import BUILT_IN_RANGE, LensRange, Span
from shared.optics.refraction import SpheroCylinder
from shared.vocabulary import Status
from tests.shared.messages import check

UNEVEN = LensRange("uneven", (Span(-1.0, -0.5, 0.5), Span(10.0, 12.0, 2.0)), Status.COMMON_PRACTICE)


def test_spectacles_for_one_aphakic_eye_come_with_a_caution() -> None:
    found = spectacle_magnification()
    assert (found.weight, found.sources) == (Weight.CHECK, ("aphakic-magnification",))
    check(found)


@pytest.mark.parametrize(
    ("exact", "power"),
    [
        (11.0, 12.0),
        (10.999, 10.0),
        (11.001, 12.0),
        (-0.75, -0.5),
        (-0.76, -1.0),
        (4.75, 10.0),
        (10.0, 10.0),
        (-1.25, -1.0),
        (13.0, 12.0),
        (0.1 + 0.2 + 10.7, 12.0),  # 11.0 in exact arithmetic
    ],
)
def test_the_nearest_power_a_tie_toward_more_plus(exact: float, power: float) -> None:
    assert UNEVEN.nearest(exact) == (power, pytest.approx(exact - power))


@pytest.mark.parametrize("exact", [-1.26, 13.01, 40.0])
def test_no_lens_is_chosen_beyond_half_a_step_outside_the_range(exact: float) -> None:
    with pytest.raises(ClinicalInputError) as refused:
        UNEVEN.nearest(exact)
    assert refused.value.field == "power"
    assert refused.value.message.params["high"] == Quantity(12.0, Unit.DIOPTRE)
    check(refused.value.message)


@given(st.floats(-20, 40))
def test_nothing_in_the_range_is_nearer(exact: float) -> None:
    power, residual = BUILT_IN_RANGE.nearest(exact)
    assert power in BUILT_IN_RANGE.powers
    assert abs(residual) <= min(abs(p - exact) for p in BUILT_IN_RANGE.powers) + 1e-9
    assert power + residual == pytest.approx(exact)


def test_the_built_in_range_rises_in_quarters_halves_and_wholes() -> None:
    powers = BUILT_IN_RANGE.powers
    steps = {(low, high - low) for low, high in itertools.pairwise(powers)}
    assert (powers[0], powers[-1]) == (-20.0, 40.0)
    assert {step for low, step in steps if -6 <= low < 6} == {0.25}
    assert {step for low, step in steps if low < -6 or 6 <= low < 20} == {0.5}
    assert {step for low, step in steps if low >= 20} == {1.0}
    assert BUILT_IN_RANGE.status is Status.COMMON_PRACTICE


def test_a_contact_lens_is_the_spherical_equivalent_and_near_once() -> None:
    chosen = contact_lens(SpheroCylinder(28.0, -1.0, 180.0), 2.0, BUILT_IN_RANGE)
    assert (chosen.exact_distance, chosen.exact_with_near, chosen.power, chosen.residual, chosen.residual_cylinder) == (27.5, 29.5, 30.0, -0.5, -1.0)
    assert len(chosen.steps) == 4
    check(chosen)


def test_a_sphere_leaves_no_cylinder_to_speak_of() -> None:
    chosen = contact_lens(SpheroCylinder(28.0), 0.0, BUILT_IN_RANGE)
    assert (chosen.power, chosen.residual, chosen.residual_cylinder, len(chosen.steps)) == (28.0, 0.0, 0.0, 3)


def test_spectacles_have_near_added_at_their_own_plane() -> None:
    """+26.00 D at the cornea is +19.817 D at 12 mm (arithmetic); the +2.00 D are added there, not at the cornea, where they would be +1.136 D here."""
    ordered = spectacles(SpheroCylinder(26.0, -1.0, 90.0), 12, 2.0, 0.25)
    assert ordered.exact_distance.sphere == pytest.approx(19.817, abs=0.0006)
    assert ordered.exact.sphere == pytest.approx(ordered.exact_distance.sphere + 2.0)
    assert (ordered.exact.cylinder, ordered.exact.axis) == (ordered.exact_distance.cylinder, 90.0)
    assert ordered.rounded == SpheroCylinder(21.75, -0.5, 90.0)
    assert len(ordered.steps) == 3
    check(ordered)


def test_without_near_the_order_is_for_distance() -> None:
    ordered = spectacles(SpheroCylinder(26.0), 12, 0.0, 0.25)
    assert ordered.exact == ordered.exact_distance
    assert len(ordered.steps) == 1


@given(st.floats(-19, 39), st.floats(0, 0.9))
def test_near_is_added_once_whatever_the_plane(power: float, near: float) -> None:
    lens = contact_lens(SpheroCylinder(power), near, BUILT_IN_RANGE)
    assert lens.exact_with_near - lens.exact_distance == pytest.approx(near)
    glasses = spectacles(SpheroCylinder(power), 12, near, 0.25)
    assert glasses.exact.sphere - glasses.exact_distance.sphere == pytest.approx(near)


def test_a_contact_lens_beyond_the_range_is_refused() -> None:
    with pytest.raises(ClinicalInputError) as refused:
        contact_lens(SpheroCylinder(39.0), 3.0, BUILT_IN_RANGE)
    assert refused.value.field == "power"
