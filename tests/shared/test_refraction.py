"""Sphero-cylinders. The checks go by another road than the code where there is one: focal lengths for effectivity, the sine-squared law for sums."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.errors import ClinicalInputError
from shared.optics.refraction import (
    SpheroCylinder,
    at_vertex_distance,
    from_power_vector,
    net_of_working_distance,
    over_refraction_at_cornea,
    rounded,
)
from tests.shared.messages import check

axes = st.floats(0.5, 180)
lenses = st.builds(SpheroCylinder, st.floats(-18, 18), st.floats(-6, 6), axes)
weak_lenses = st.builds(SpheroCylinder, st.floats(-10, 10), st.floats(-3, 3), axes)
prescriptions = st.builds(SpheroCylinder, st.integers(-80, 80).map(lambda n: n / 4), st.integers(-24, 24).map(lambda n: n / 4), st.integers(1, 180).map(float))
spheres = st.builds(SpheroCylinder, st.floats(-20, 20))
millimetres = st.floats(0, 15)


def along(rx: SpheroCylinder, meridian: float) -> float:
    """The power in a meridian, by the sine-squared law: the cylinder has none along its axis and all of it across."""
    return rx.sphere + rx.cylinder * math.sin(math.radians(meridian - (rx.axis or 0.0))) ** 2


def close(value: float) -> object:
    return pytest.approx(value, rel=1e-9, abs=1e-9)


@given(lenses, millimetres, millimetres)
def test_there_and_back_is_the_same_lens(rx: SpheroCylinder, here: float, there: float) -> None:
    back = at_vertex_distance(at_vertex_distance(rx, here, there).exact, there, here).exact
    exact = (pytest.approx(value, rel=1e-12, abs=1e-12) for value in (rx.sphere, rx.sphere + rx.cylinder))
    assert (back.sphere, back.sphere + back.cylinder, back.axis) == (*exact, rx.axis)


@given(lenses, millimetres, millimetres)
def test_the_focus_stays_where_it_is(rx: SpheroCylinder, here: float, there: float) -> None:
    """Each meridian's focus lies as far from the eye as before: the focal length changes by the way the lens was moved."""
    moved = at_vertex_distance(rx, here, there).exact
    for before, after in ((rx.sphere, moved.sphere), (rx.sphere + rx.cylinder, moved.sphere + moved.cylinder)):
        if abs(before) > 0.01:
            assert 1 / after == pytest.approx(1 / before - (here - there) / 1000, rel=1e-6)


@given(spheres, millimetres)
def test_a_sphere_has_no_cylinder_after_moving(rx: SpheroCylinder, distance: float) -> None:
    working = at_vertex_distance(rx, distance, 0)
    assert (working.exact.cylinder, working.exact.axis, len(working.steps)) == (0.0, None, 1)


def test_a_lens_left_where_it_is_keeps_its_power() -> None:
    rx = SpheroCylinder(12.0, -2.0, 30.0)
    assert at_vertex_distance(rx, 12, 12).exact == rx


def test_plus_grows_and_minus_shrinks_toward_the_eye() -> None:
    assert at_vertex_distance(SpheroCylinder(15), 12, 0).exact.sphere > 15
    assert at_vertex_distance(SpheroCylinder(-15), 12, 0).exact.sphere > -15


def test_the_working_shows_each_meridian() -> None:
    steps = at_vertex_distance(SpheroCylinder(12, 2, 90), 12, 0).steps
    assert [(s.params["before"].value, s.params["d"]) for s in steps] == [(12, "0.012"), (14, "0.012")]  # type: ignore[union-attr]
    check(steps)


@given(prescriptions)
def test_transposed_twice_is_the_same_lens(rx: SpheroCylinder) -> None:
    assert rx.transposed().transposed() == rx
    assert rx.transposed().cylinder == -rx.cylinder
    assert rx.transposed().spherical_equivalent == rx.spherical_equivalent


@given(lenses)
def test_transposition_leaves_the_power_vector_alone(rx: SpheroCylinder) -> None:
    assert rx.transposed().power_vector() == tuple(pytest.approx(part, abs=1e-9) for part in rx.power_vector())


@given(lenses, st.floats(0, 180))
def test_transposition_leaves_the_power_of_every_meridian_alone(rx: SpheroCylinder, meridian: float) -> None:
    assert along(rx.transposed(), meridian) == close(along(rx, meridian))


def test_transposition_as_the_textbook_writes_it() -> None:
    assert SpheroCylinder(2.0, -1.0, 180.0).transposed() == SpheroCylinder(1.0, 1.0, 90.0)
    assert SpheroCylinder(2.0, 1.0, 90.0).transposed() == SpheroCylinder(3.0, -1.0, 180.0)
    assert SpheroCylinder(-1.0, 0.5, 45.0).transposed() == SpheroCylinder(-0.5, -0.5, 135.0)
    assert SpheroCylinder(1.0).transposed() == SpheroCylinder(1.0)


@given(lenses, weak_lenses, st.floats(0, 180))
def test_two_lenses_add_in_every_meridian(one: SpheroCylinder, other: SpheroCylinder, meridian: float) -> None:
    both = one.plus(other)
    assert both.cylinder <= 0
    assert both.axis is not None and 0 < both.axis <= 180
    assert along(both, meridian) == pytest.approx(along(one, meridian) + along(other, meridian), abs=1e-9)


@given(weak_lenses, weak_lenses)
def test_two_lenses_add_as_the_classical_form_of_crossed_cylinders_says(one: SpheroCylinder, other: SpheroCylinder) -> None:
    """The Indian Optician 2022, p. 105: C² = F1² + F2² + 2 F1 F2 cos 2a, tan 2t = F2 sin 2a / (F1 + F2 cos 2a), S = (F1 + F2 - C) / 2 beside the spheres."""
    f1, f2, apart = one.cylinder, other.cylinder, math.radians(2 * ((other.axis or 0.0) - (one.axis or 0.0)))
    cylinder = math.sqrt(max(0.0, f1**2 + f2**2 + 2 * f1 * f2 * math.cos(apart)))
    turned = math.degrees(math.atan2(f2 * math.sin(apart), f1 + f2 * math.cos(apart))) / 2
    sphere = one.sphere + other.sphere + (f1 + f2 - cylinder) / 2
    both = one.plus(other)
    assert (both.sphere + both.cylinder, -both.cylinder) == (pytest.approx(sphere, abs=1e-7), pytest.approx(cylinder, abs=1e-7))
    if cylinder > 1e-3:  # a plus cylinder lies across the minus cylinder of the same lens
        off = ((both.axis or 0.0) - ((one.axis or 0.0) + turned + 90)) % 180
        assert min(off, 180 - off) == pytest.approx(0, abs=1e-4)


@given(weak_lenses, weak_lenses, weak_lenses)
def test_the_order_of_lenses_does_not_matter(one: SpheroCylinder, other: SpheroCylinder, third: SpheroCylinder) -> None:
    vectors = [both.power_vector() for both in (one.plus(other), other.plus(one))]
    assert vectors[0] == pytest.approx(vectors[1], abs=1e-9)
    assert one.plus(other).plus(third).power_vector() == pytest.approx(third.plus(other).plus(one).power_vector(), abs=1e-9)


@given(lenses)
def test_a_power_vector_is_the_same_lens(rx: SpheroCylinder) -> None:
    again = from_power_vector(*rx.power_vector())
    assert again.power_vector() == pytest.approx(rx.power_vector(), abs=1e-9)


@given(spheres, spheres)
def test_two_spheres_make_a_sphere(one: SpheroCylinder, other: SpheroCylinder) -> None:
    assert one.plus(other).sphere == pytest.approx(one.sphere + other.sphere)
    assert str(one.plus(other).cylinder) == "0.0"  # a lens of -0.00 is nothing to show anyone


@pytest.mark.parametrize(
    ("exact", "step", "expected"),
    [
        (SpheroCylinder(14.019, 2.808, 90.0), 0.25, SpheroCylinder(14.0, 2.75, 90.0)),
        (SpheroCylinder(14.125), 0.25, SpheroCylinder(14.25)),
        (SpheroCylinder(-14.125), 0.25, SpheroCylinder(-14.0)),
        (SpheroCylinder(-0.25, -0.5, 10.0), 0.5, SpheroCylinder(0.0, -0.5, 10.0)),
        # the cylinder by itself would have gone to -1.00; its meridians, at 0.20 and -0.90, go to 0.25 and -1.00
        (SpheroCylinder(0.2, -1.1, 10.0), 0.25, SpheroCylinder(0.25, -1.25, 10.0)),
        (SpheroCylinder(26.5, 0.0, None), 1.0, SpheroCylinder(27.0)),
    ],
)
def test_each_meridian_is_rounded_a_tie_toward_more_plus(exact: SpheroCylinder, step: float, expected: SpheroCylinder) -> None:
    assert rounded(exact, step) == expected


@given(lenses, st.sampled_from([0.125, 0.25, 0.5, 1.0]))
def test_no_meridian_moves_by_more_than_half_a_step(rx: SpheroCylinder, step: float) -> None:
    to = rounded(rx, step)
    assert abs(to.sphere - rx.sphere) <= step / 2 + 1e-9
    assert abs(to.sphere + to.cylinder - rx.sphere - rx.cylinder) <= step / 2 + 1e-9
    assert to.sphere % step == (to.sphere + to.cylinder) % step == 0


def test_gross_retinoscopy_less_the_vergence_of_its_distance() -> None:
    assert net_of_working_distance(SpheroCylinder(20.0, -1.0, 90.0), 50) == SpheroCylinder(18.0, -1.0, 90.0)
    assert net_of_working_distance(SpheroCylinder(1.5), 66.6667).sphere == pytest.approx(0.0, abs=1e-5)


def test_a_toric_trial_lens_adds_obliquely() -> None:
    """Power at the cornea with a plano over-refraction is the trial lens; with one of its own cylinder the two cross."""
    trial = SpheroCylinder(20.0, -2.0, 90.0)
    assert over_refraction_at_cornea(trial, SpheroCylinder(0.0), 12).exact == SpheroCylinder(20.0, -2.0, 90.0)
    crossed = over_refraction_at_cornea(trial, SpheroCylinder(0.0, -1.0, 180.0), 0).exact
    assert (crossed.sphere, crossed.cylinder, crossed.axis) == (pytest.approx(19.0), pytest.approx(-1.0), pytest.approx(90.0))


@given(spheres, lenses, millimetres)
def test_over_a_sphere_the_over_refraction_keeps_its_form(trial: SpheroCylinder, over: SpheroCylinder, distance: float) -> None:
    at_cornea = at_vertex_distance(over, distance, 0).exact
    if not -40 <= trial.sphere + at_cornea.sphere <= 50:
        return
    working = over_refraction_at_cornea(trial, over, distance)
    assert working.exact == SpheroCylinder(trial.sphere + at_cornea.sphere, at_cornea.cylinder, over.axis)
    check(working)


def test_an_axis_of_0_is_180_and_one_between_1_and_180_stays() -> None:
    assert SpheroCylinder(1.0, -1.0, 0.0).axis == 180.0
    assert SpheroCylinder(1.0, -1.0, 180.0).axis == 180.0
    assert SpheroCylinder(1.0, -1.0, 1.0).axis == 1.0


NAN, INFINITE = math.nan, math.inf


@pytest.mark.parametrize(
    ("field", "lens"),
    [
        ("sphere", (80.0, 0.0, None)),
        ("sphere", (50.25, 0.0, None)),
        ("sphere", (-40.25, 0.0, None)),
        ("sphere", (NAN, 0.0, None)),
        ("sphere", (INFINITE, 0.0, None)),
        ("cylinder", (0.0, 15.25, 90.0)),
        ("cylinder", (0.0, -15.25, 90.0)),
        ("cylinder", (0.0, NAN, 90.0)),
        ("axis", (0.0, -1.0, None)),
        ("axis", (0.0, -1.0, 200.0)),
        ("axis", (0.0, -1.0, 180.5)),
        ("axis", (0.0, -1.0, -1.0)),
        ("axis", (0.0, 0.0, NAN)),
    ],
)
def test_a_lens_that_cannot_be_names_its_field(field: str, lens: tuple[float, float, float | None]) -> None:
    with pytest.raises(ClinicalInputError) as refused:
        SpheroCylinder(*lens)
    assert refused.value.field == field
    check(refused.value.message)


def test_the_strongest_lens_is_still_one() -> None:
    assert SpheroCylinder(50.0, -15.0, 180.0).transposed() == SpheroCylinder(35.0, 15.0, 90.0)
    assert SpheroCylinder(-40.0).sphere == -40.0


@pytest.mark.parametrize(
    ("field", "here", "there"),
    [
        ("from_vertex_distance_mm", 120.0, 0.0),
        ("from_vertex_distance_mm", -1.0, 0.0),
        ("from_vertex_distance_mm", NAN, 0.0),
        ("to_vertex_distance_mm", 12.0, 30.5),
        ("to_vertex_distance_mm", 12.0, INFINITE),
    ],
)
def test_a_distance_that_cannot_be_names_its_field(field: str, here: float, there: float) -> None:
    with pytest.raises(ClinicalInputError) as refused:
        at_vertex_distance(SpheroCylinder(10.0), here, there)
    assert refused.value.field == field
    check(refused.value.message)


@pytest.mark.parametrize(("sphere", "mm"), [(50.0, 20.0), (50.0, 30.0), (35.0, 20.0)])
def test_where_no_lens_does_the_same_the_power_is_refused(sphere: float, mm: float) -> None:
    with pytest.raises(ClinicalInputError) as refused:
        at_vertex_distance(SpheroCylinder(sphere), mm, 0)
    assert refused.value.field == "sphere"
    check(refused.value.message)


@pytest.mark.parametrize("step", [0.0, -0.25, 5.5, NAN, INFINITE])
def test_a_step_that_cannot_be_is_refused(step: float) -> None:
    with pytest.raises(ClinicalInputError) as refused:
        rounded(SpheroCylinder(1.0), step)
    assert refused.value.field == "step"


@pytest.mark.parametrize("cm", [19.9, 200.5, 0.0, -50.0, NAN])
def test_a_working_distance_that_cannot_be_is_refused(cm: float) -> None:
    with pytest.raises(ClinicalInputError) as refused:
        net_of_working_distance(SpheroCylinder(1.0), cm)
    assert refused.value.field == "working_distance_cm"


@given(st.builds(SpheroCylinder, st.floats(-40, 50), st.floats(-15, 15), axes), st.floats(0, 30), st.floats(0, 30))
def test_any_lens_anywhere_is_moved_or_refused(rx: SpheroCylinder, here: float, there: float) -> None:
    answer: object
    field = "none"
    try:
        answer = at_vertex_distance(rx, here, there)
    except ClinicalInputError as refused:
        answer, field = refused.message, refused.field
    check(answer)
    assert field in ("none", "sphere", "cylinder")
