"""A rigid lens, its tears and the lens of another base curve; the exact form beside the rule of thumb; magnification and a missing vertex distance."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.errors import ClinicalInputError
from shared.optics.magnification import image_beside, power_factor
from shared.optics.refraction import SpheroCylinder, at_vertex_distance, vertex_distance
from shared.optics.rigid_lens import Cornea, over_rigid_lens, tears, tears_by_rule
from tests.shared.messages import check

curves = st.floats(6.5, 9.0)
corneas = st.builds(lambda flat, more, axis: Cornea(flat, flat + more, axis), st.floats(38, 52), st.floats(0.1, 5), st.floats(1, 180))
overs = st.builds(SpheroCylinder, st.floats(-4, 4), st.floats(-3, 3), st.floats(1, 180))


def vector(rx: SpheroCylinder) -> object:
    return pytest.approx(rx.power_vector(), abs=1e-9)


@pytest.mark.parametrize(("curve", "radius", "exact"), [(7.75, 7.80, 0.279), (6.95, 7.00, 0.347)])
def test_the_rule_of_thumb_understates_on_a_steep_cornea(curve: float, radius: float, exact: float) -> None:
    """337.5/r1 - 337.5/r2 by hand; the rule says 0.25 D for 0.05 mm whatever the cornea (formula sheet, as read)."""
    cornea = Cornea(337.5 / radius)
    assert tears(curve, cornea).sphere == pytest.approx(exact, abs=0.0006)
    assert tears_by_rule(curve, cornea).value == pytest.approx(0.25, abs=1e-9)


@given(st.floats(-20, 30), curves, corneas, overs, st.floats(0, 15))
def test_on_the_same_base_curve_the_tears_cancel(trial: float, curve: float, cornea: Cornea, over: SpheroCylinder, vertex: float) -> None:
    found = over_rigid_lens(trial, curve, cornea, over, vertex, curve)
    assert found.lens.power_vector() == vector(SpheroCylinder(trial).plus(at_vertex_distance(over, vertex, 0.0).exact))
    check(found.steps)


@given(st.floats(-20, 30), curves, curves, corneas, overs)
def test_whatever_the_base_curve_lens_and_tears_give_what_the_eye_needs(trial: float, curve: float, other: float, cornea: Cornea, over: SpheroCylinder) -> None:
    found = over_rigid_lens(trial, curve, cornea, over, 12.0, other)
    assert found.lens.plus(tears(other, cornea)).power_vector() == vector(found.needed_at_cornea)
    steeper = over_rigid_lens(trial, curve, cornea, over, 12.0, other - 0.1)
    assert steeper.lens.spherical_equivalent < found.lens.spherical_equivalent  # steeper add minus, flatter add plus (formula sheet, as read)


def test_a_cornea_steeper_upright_leaves_a_minus_cylinder_at_180_in_the_tears() -> None:
    """Textbook: with-the-rule astigmatism, corrected by a minus cylinder at 180; the tears of a spherical lens hold just that."""
    behind = tears(337.5 / 44, Cornea(44.0, 46.0, 90.0))
    assert (behind.sphere, behind.cylinder, behind.axis) == (pytest.approx(0.0, abs=1e-9), pytest.approx(-2.0), 180.0)


@pytest.mark.parametrize(
    ("field", "cornea"),
    [
        ("flat_dioptres", (19.9, None, None)),
        ("flat_dioptres", (math.nan, None, None)),
        ("flat_dioptres", (80.1, None, None)),
        ("steep_dioptres", (44.0, 81.0, 90.0)),
        ("steep_dioptres", (44.0, 43.0, 90.0)),
        ("steep_axis", (44.0, 46.0, None)),
        ("steep_axis", (44.0, 46.0, 181.0)),
        ("steep_axis", (44.0, 46.0, math.nan)),
    ],
)
def test_a_cornea_that_cannot_be_is_refused_by_name(field: str, cornea: tuple) -> None:
    with pytest.raises(ClinicalInputError) as refused:
        Cornea(*cornea)
    assert refused.value.field == field
    check(refused.value.message)


@pytest.mark.parametrize("curve", [4.9, 12.1, math.nan, math.inf])
def test_a_base_curve_that_cannot_be_is_refused_by_name(curve: float) -> None:
    cornea = Cornea(44.0)
    for field, ask in (
        ("base_curve_mm", lambda: tears(curve, cornea)),
        ("base_curve_mm", lambda: tears_by_rule(curve, cornea)),
        ("ordered_base_curve_mm", lambda: over_rigid_lens(20.0, 7.5, cornea, SpheroCylinder(0.0), 12.0, curve)),
    ):
        with pytest.raises(ClinicalInputError) as refused:
            ask()
        assert refused.value.field == field
        check(refused.value.message)


def test_a_steep_infant_cornea_is_no_lens_and_has_no_lens_s_limits() -> None:
    assert tears(6.2, Cornea(56.0, 60.0, 90.0)).cylinder == pytest.approx(-4.0)


@pytest.mark.parametrize(("power", "mm", "given_mm"), [(4.0, None, 0.0), (-4.0, None, 0.0), (4.25, 12.0, 12.0), (20.0, 0.0, 0.0)])
def test_a_weak_lens_needs_no_vertex_distance(power: float, mm: float | None, given_mm: float) -> None:
    assert vertex_distance(SpheroCylinder(power), mm, "vertex_distance_mm") == given_mm


@pytest.mark.parametrize("rx", [SpheroCylinder(4.25), SpheroCylinder(-4.25), SpheroCylinder(3.0, 2.0, 90.0), SpheroCylinder(0.0, -4.5, 10.0)])
def test_a_stronger_lens_without_its_vertex_distance_is_refused_by_name(rx: SpheroCylinder) -> None:
    with pytest.raises(ClinicalInputError) as refused:
        vertex_distance(rx, None, "over_vertex_distance_mm")
    assert refused.value.field == "over_vertex_distance_mm"
    check(refused.value.message)


@given(st.floats(-20, 25), st.floats(0, 16))
def test_the_image_grows_with_the_effective_power(power: float, mm: float) -> None:
    """1 / (1 - d F) is also the power at the cornea over the power of the lens (the definition of effectivity)."""
    rx = SpheroCylinder(power)
    if abs(power) > 0.01:
        assert power_factor(rx, mm) == pytest.approx(at_vertex_distance(rx, mm, 0.0).exact.sphere / power, rel=1e-9)


def test_an_aphakic_eye_in_spectacles_sees_larger_beside_a_phakic_one() -> None:
    """A lecture handout, as read, says about 30 % in spectacles: power alone, 20 D at 12 mm, gives 1 / 0.76, by hand 31.6 %."""
    found = image_beside(SpheroCylinder(20.0), SpheroCylinder(0.0), 12.0)
    assert found.value is not None and found.value.value == pytest.approx(31.58, abs=0.01)
    back = image_beside(SpheroCylinder(0.0), SpheroCylinder(20.0), 12.0)
    assert back.value is not None and back.value.value == pytest.approx(-24.0, abs=0.01)
    check(found)
