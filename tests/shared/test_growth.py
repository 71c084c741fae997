"""Forecast of an aphakic eye: planes never mixed, no jumps, a band that only widens, and refused where nothing is published."""

import itertools
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.errors import ClinicalInputError
from shared.growing.growth import GrowingEye, Rate, Refracted, by_log_age, by_months, by_years, forecast, operated_later, rate_of
from shared.optics.planes import PlaneRefraction, RefractionPlane
from shared.vocabulary import Status
from tests.shared.messages import check

BORN = date(2024, 1, 15)
EYE, BOTH = GrowingEye(operated_later=False, bilateral=False), GrowingEye(operated_later=False, bilateral=True)
CORNEA, SPECTACLES = RefractionPlane.CORNEA, RefractionPlane.SPECTACLES
days = st.integers(50, 3834)
powers = st.floats(8, 26)
eyes = st.builds(GrowingEye, st.booleans(), st.booleans())


def refracted(power: float, age_days: int, plane: RefractionPlane = SPECTACLES) -> Refracted:
    return Refracted(age_days / 365.25, PlaneRefraction(power, plane, 12.0))


def aged(age_days: int) -> float:
    return age_days / 365.25


@given(powers, days, days)
def test_the_refraction_only_falls_and_the_band_only_widens(power: float, one: int, other: int) -> None:
    start = refracted(power, 50)
    sooner, later = (forecast(EYE, start, aged(d)) for d in sorted((one, other)))
    assert later.likely.power <= sooner.likely.power
    assert later.sd >= sooner.sd
    band = later.band(SPECTACLES)
    assert band.low < band.likely < band.high


@given(eyes, powers, st.integers(400, 3834), st.sampled_from(list(RefractionPlane)))
def test_a_span_of_nothing_gives_what_was_measured(eye: GrowingEye, power: float, age_days: int, plane: RefractionPlane) -> None:
    found = forecast(eye, refracted(power, age_days, plane), aged(age_days))
    assert found.band(plane).likely == pytest.approx(power)
    assert found.growth_sd == 0
    assert found.sd == 0.5  # what is assumed of one refraction, and no more


@given(powers, st.integers(50, 90))
def test_nothing_jumps_at_three_months(power: float, start_days: int) -> None:
    courses = [forecast(EYE, refracted(power, start_days), aged(d)) for d in range(max(start_days, 88), 97)]
    for before, after in itertools.pairwise(courses):
        assert 0 <= before.likely.power - after.likely.power < 0.05
        assert 0 <= after.growth_sd - before.growth_sd < 0.05


def test_before_three_months_the_fall_is_by_months_at_the_cornea() -> None:
    start = refracted(30.0, 50, CORNEA)
    found = forecast(EYE, start, aged(80)).band(CORNEA)
    assert found.likely == pytest.approx(30.0 - 0.43 * 30 / 365.25 * 12)
    check(forecast(EYE, start, aged(400)))


def test_the_band_at_the_cornea_is_skewed_for_each_end_is_moved_by_itself() -> None:
    band = forecast(EYE, refracted(18.0, 183), aged(365)).band(CORNEA)
    assert band.high - band.likely > band.likely - band.low


def test_the_rate_is_that_of_the_age_at_surgery_and_of_one_eye_or_both() -> None:
    found = [rate_of(GrowingEye(later, both)).per_tenfold_age for later in (False, True) for both in (False, True)]
    assert found == [-5.5, -5.5, -7.7, -5.7]
    assert rate_of(GrowingEye(operated_later=True, bilateral=False)).status is Status.DERIVED  # its spread stands in
    assert [operated_later(BORN, on) for on in (date(2024, 7, 15), date(2024, 7, 16))] == [False, True]


@pytest.mark.parametrize("course", [lambda p: by_log_age(p, Rate(-5.5, 3.8, Status.READ, ()), 0.5, 1.0), lambda p: by_years(p, 0.5, 1.0)])
def test_rates_at_spectacles_refuse_a_power_at_the_cornea(course: object) -> None:
    with pytest.raises(ClinicalInputError) as refused:
        course(PlaneRefraction(25.0, CORNEA, 12))  # type: ignore[operator]
    assert refused.value.field == "plane"


def test_the_fall_at_the_cornea_refuses_a_power_at_spectacles() -> None:
    with pytest.raises(ClinicalInputError) as refused:
        by_months(PlaneRefraction(20.0, SPECTACLES, 12), 2, 3)
    assert refused.value.field == "plane"


def test_the_logarithm_is_not_used_near_birth_and_nothing_beyond_what_was_followed() -> None:
    rate, start = rate_of(EYE), PlaneRefraction(20.0, SPECTACLES, 12)
    for span in ((0.0, 1.0), (0.24, 1.0), (1.0, 10.6), (float("nan"), 1.0)):
        with pytest.raises(ClinicalInputError) as refused:
            by_log_age(start, rate, *span)
        assert refused.value.field == "age_years"
    for span in ((0.05, 1.0), (1.0, 10.6)):
        with pytest.raises(ClinicalInputError) as refused:
            by_years(start, *span)
        assert refused.value.field == "age_years"


@pytest.mark.parametrize(
    ("eye", "start_days", "on_days"),
    [
        (EYE, 200, 199),  # before the refraction
        (EYE, 200, 3836),  # beyond 10.5 years
        (BOTH, 60, 200),  # the course by months is of one eye
        (EYE, 30, 60),  # below one month
    ],
)
def test_what_is_not_published_is_refused(eye: GrowingEye, start_days: int, on_days: int) -> None:
    with pytest.raises(ClinicalInputError) as refused:
        forecast(eye, refracted(20.0, start_days), aged(on_days))
    assert refused.value.field == "years"


def test_an_operation_before_birth_is_refused() -> None:
    with pytest.raises(ClinicalInputError) as refused:
        operated_later(BORN, date(2024, 1, 14))
    assert refused.value.field == "operated_on"


def test_the_yearly_falls_have_no_jumps() -> None:
    start = PlaneRefraction(20.0, SPECTACLES, 12)
    for border in (1.5, 5.0):
        assert by_years(start, 0.5, border - 1e-6) == pytest.approx(by_years(start, 0.5, border + 1e-6), abs=1e-4)
    assert by_years(start, 1.0, 2.0) == pytest.approx(20 - 0.5 * 2.11 - 0.5 * 0.68)
