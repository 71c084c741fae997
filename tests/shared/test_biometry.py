"""The lens an aphakic eye will need from its length and cornea: each method inside its own domain, each plane named."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.errors import ClinicalInputError
from shared.findings import Weight
from shared.optics.biometry import (
    Biometry,
    by_age,
    by_implant_formula,
    by_regression,
    by_vergence,
    estimates,
    moore_fall,
    moore_power,
    regression_lengths_mm,
    rigid_power,
)
from shared.optics.planes import PlaneRefraction, RefractionPlane
from shared.vocabulary import Status
from tests.shared.messages import check

lengths, corneas = st.floats(15.5, 26), st.floats(40, 55)


def test_each_method_names_both_planes_and_says_how_well_it_is_known() -> None:
    found = estimates(Biometry(18.1, 46.3, 2), 12)
    assert [e.finding.rule for e in found] == ["lens-power-by-regression", "lens-power-by-implant-formula", "lens-power-by-vergence"]
    for e in found:
        assert (e.at_cornea.plane, e.at_spectacles.plane) == (RefractionPlane.CORNEA, RefractionPlane.SPECTACLES)
        assert e.at_spectacles.at(RefractionPlane.CORNEA).power == pytest.approx(e.at_cornea.power)
        check(e.finding)
    assert found[2].finding.status is Status.MEMORY
    assert found[2].band is None  # no error was published for it


def test_the_band_is_one_published_mean_error_to_each_side() -> None:
    regression = by_regression(Biometry(18.1, 46.3, 2), 12)
    low, high = regression.band or (0, 0)
    assert high - low == pytest.approx(4.4)
    assert (low + high) / 2 == pytest.approx(regression.at_cornea.power)


def test_the_error_of_infants_is_not_carried_to_older_children_and_has_no_sign() -> None:
    """Trivedi 2014 (read): infants of one trial, mean absolute error 2.9 D for SRK/T with a constant of its own."""
    infant, older = (by_implant_formula(Biometry(21.0, 44.0, months), 12) for months in (11, 12))
    assert infant.error == 2.9 and older.error is None and older.band is None
    assert infant.at_cornea == older.at_cornea and "trivedi-2014" not in older.finding.sources
    said = [m.params["error"] for m in infant.finding.working if "mean absolute error" in m.text]
    assert said == ["2.9"]


@pytest.mark.parametrize(("length", "age_months", "field"), [(18.1, 12, "age_months"), (19.7, 3, "axial_length_mm"), (14.5, 3, "axial_length_mm")])
def test_the_regression_is_not_carried_beyond_its_infants(length: float, age_months: int, field: str) -> None:
    eye = Biometry(length, 46.0, age_months)
    with pytest.raises(ClinicalInputError) as refused:
        by_regression(eye, 12)
    assert refused.value.field == field
    if length > 15:
        assert estimates(eye, 12)[0].finding.rule == "lens-power-by-implant-formula"


def test_the_lengths_of_the_regression_are_two_deviations_about_their_mean() -> None:
    low, high = regression_lengths_mm()
    assert (low + high) / 2 == pytest.approx(17.125)  # 84.4 − 3.2 × 17.125 = 29.6, the mean power
    assert high - low == pytest.approx(4 * 4.4 * 0.82**0.5 / 3.2)


@pytest.mark.parametrize(
    ("length", "cornea", "age", "field"),
    [
        (13.9, 46, 3, "axial_length_mm"),
        (30.1, 46, 3, "axial_length_mm"),
        (float("nan"), 46, 3, "axial_length_mm"),
        (18, 37.9, 3, "cornea_dioptres"),
        (18, 60.1, 3, "cornea_dioptres"),
        (18, float("inf"), 3, "cornea_dioptres"),
        (18, 46, -1, "age_months"),
        (18, 46, 217, "age_months"),
    ],
)
def test_what_no_eye_measures_is_refused(length: float, cornea: float, age: int, field: str) -> None:
    with pytest.raises(ClinicalInputError) as refused:
        Biometry(length, cornea, age)
    assert refused.value.field == field


@pytest.mark.parametrize("method", [by_vergence, by_implant_formula])
def test_a_length_and_cornea_that_no_lens_serves_are_refused(method: object) -> None:
    with pytest.raises(ClinicalInputError) as refused:
        method(Biometry(14.0, 38.0, 20), 12)  # type: ignore[operator]
    assert refused.value.field == "axial_length_mm"


@given(lengths, lengths, corneas)
def test_a_longer_eye_needs_less_plus(one: float, other: float, cornea: float) -> None:
    short, long = sorted((one, other))
    for method in (by_vergence, by_implant_formula):
        assert method(Biometry(long, cornea, 20), 12).at_cornea.power <= method(Biometry(short, cornea, 20), 12).at_cornea.power


@given(lengths, corneas)
def test_a_dioptre_of_cornea_is_about_a_dioptre_of_lens(length: float, cornea: float) -> None:
    """Exactly one for the thin surface; 333 / 337.5 of one where the cornea is taken by its radius."""
    for method, share in ((by_vergence, 1.0), (by_implant_formula, 333 / 337.5)):
        steeper = method(Biometry(length, cornea + 1, 20), 12).at_cornea.power
        assert method(Biometry(length, cornea, 20), 12).at_cornea.power - steeper == pytest.approx(share, abs=1e-9)


def test_by_age_each_view_speaks_inside_its_own_ages() -> None:
    assert [f.rule for f in by_age(26.5, 1)] == ["starting-power-by-age"]
    assert [f.rule for f in by_age(26.5, 9)] == ["starting-power-by-age", "rigid-power-by-age", "aphakic-course-by-age"]
    assert [len(by_age(26.5, months)) for months in (1, 2, 24, 25)] == [1, 3, 3, 1]
    check(by_age(26.5, 9))


@pytest.mark.parametrize(("power", "age_months", "inside"), [(30.0, 3, True), (26.5, 3, False), (25.0, 12, True), (16.0, 24, True), (21.0, 24, False)])
def test_a_power_is_said_to_lie_inside_or_outside_the_starting_powers(power: float, age_months: int, inside: bool) -> None:
    found = by_age(power, age_months)[0]
    assert (found.weight is Weight.NOTE) is inside
    assert ("outside" not in found.message.text) is inside


def test_the_course_by_months_has_no_jumps() -> None:
    for month in (6, 12, 18):
        assert moore_power(month + 1e-6) == pytest.approx(moore_power(month - 1e-6), abs=1e-4)
    assert moore_fall(6, 12) == pytest.approx(moore_power(6) - moore_power(12))


@pytest.mark.parametrize(("course", "months"), [(moore_power, 0.9), (moore_power, 24.1), (rigid_power, 1.9), (rigid_power, 24.1), (moore_power, float("nan"))])
def test_a_course_is_not_carried_beyond_its_ages(course: object, months: float) -> None:
    with pytest.raises(ClinicalInputError) as refused:
        course(months)  # type: ignore[operator]
    assert refused.value.field == "age_months"


def test_a_rate_of_one_plane_refuses_another() -> None:
    with pytest.raises(ClinicalInputError) as refused:
        PlaneRefraction(20.0, RefractionPlane.SPECTACLES, 12).required_at(RefractionPlane.CORNEA)
    assert refused.value.field == "plane"


@pytest.mark.parametrize(("power", "vertex", "field"), [(51.0, 12, "sphere"), (float("nan"), 12, "sphere"), (20.0, 31, "from_vertex_distance_mm")])
def test_a_refraction_that_cannot_be_is_refused(power: float, vertex: float, field: str) -> None:
    with pytest.raises(ClinicalInputError) as refused:
        PlaneRefraction(power, RefractionPlane.SPECTACLES, vertex)
    assert refused.value.field == field
