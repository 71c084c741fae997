"""When a lens will no longer do, by its dates, and eyes that leave their forecast."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.errors import ClinicalInputError
from shared.findings import Quantity, Unit, Weight
from shared.growing.growth_course import Course, RefractedOn, forecast_finding, growth_outside_band, lens_off_expected
from shared.growing.outgrown import trials_habit
from shared.optics.planes import PlaneRefraction, RefractionPlane
from shared.vocabulary import Laterality, Status
from tests.shared.messages import check

BORN = date(2024, 1, 15)
OPERATED = date(2024, 3, 1)
LAST = BORN + timedelta(days=3834)  # within 10.5 years
CORNEA, SPECTACLES = RefractionPlane.CORNEA, RefractionPlane.SPECTACLES


def refracted(power: float, age_days: int, plane: RefractionPlane = SPECTACLES) -> RefractedOn:
    return RefractedOn(BORN + timedelta(days=age_days), PlaneRefraction(power, plane, 12.0))


def course(*refractions: RefractedOn, worn: float | None = None, lengths: tuple[tuple[int, float], ...] = ()) -> Course:
    return Course(Laterality.LEFT, BORN, OPERATED, False, refractions, tuple((BORN + timedelta(days=d), mm) for d, mm in lengths), worn)


@given(st.floats(12, 24), st.integers(60, 1500), st.sampled_from([0.5, 1.0, 1.5, 2.0, 3.0]))
def test_the_day_is_the_first_on_which_the_lens_is_out_by_the_limit(power: float, age_days: int, limit: float) -> None:
    start = refracted(power, age_days)
    found = course().lens_out_on(start, limit)
    right = start.refraction.at(CORNEA).power
    if found.likely is None:
        assert right - course().forecast(start, LAST).band(CORNEA).likely < limit
        return
    needed = [course().forecast(start, found.likely - timedelta(days=back)).band(CORNEA).likely for back in (0, 1)]
    assert right - needed[0] >= limit > right - needed[1]
    assert found.earliest is not None
    assert found.earliest <= found.likely
    assert found.latest is None or found.latest >= found.likely


@given(st.floats(12, 24), st.integers(60, 1500))
def test_a_wider_limit_is_reached_later(power: float, age_days: int) -> None:
    found = [course().lens_out_on(refracted(power, age_days), limit).likely or date.max for limit in (1.0, 2.0, 3.0)]
    assert found == sorted(found)


def test_a_lens_that_was_never_right_is_out_from_the_first_day_and_a_weak_one_is_grown_into() -> None:
    start = refracted(20.0, 100)
    right = start.refraction.at(CORNEA).power
    assert course().lens_out_on(start, 1.0, right + 1.2).likely == start.on
    weak, exact = (course().lens_out_on(start, 1.0, right + off).likely for off in (-0.5, 0.0))
    assert weak is not None
    assert exact is not None
    assert weak > exact


@pytest.mark.parametrize("limit", [0.4, 4.1, float("nan"), -1.0])
def test_a_limit_that_no_clinic_has_is_refused(limit: float) -> None:
    with pytest.raises(ClinicalInputError) as refused:
        course().lens_out_on(refracted(20.0, 100), limit)
    assert refused.value.field == "limit_dioptres"


def test_a_worn_lens_is_brought_up_when_the_forecast_has_left_it() -> None:
    start = refracted(27.0, 60, CORNEA)
    out_on = course().lens_out_on(start, 1.5, 27.0).likely
    assert out_on is not None
    worn = course(start, worn=27.0)
    assert lens_off_expected([worn], out_on - timedelta(days=1), 1.5) == ()
    (found,) = lens_off_expected([worn], out_on, 1.5)
    assert (found.rule, found.weight) == ("lens-off-expected", Weight.CHECK)
    check(found)


def test_nothing_is_expected_without_lens_or_refraction_or_outside_the_published_ages() -> None:
    today = BORN + timedelta(days=700)
    assert lens_off_expected([course(refracted(27.0, 60, CORNEA)), course(worn=27.0)], today, 1.0) == ()
    assert lens_off_expected([course(refracted(27.0, 60, CORNEA), worn=27.0)], date(2036, 1, 1), 1.0) == ()


def test_an_eye_that_goes_myopic_beyond_its_band_asks_for_its_pressure() -> None:
    first, today = refracted(20.0, 100), BORN + timedelta(days=400)
    low = course().forecast(first, today).band(SPECTACLES).low
    inside, outside = (course(first, refracted(low + off, 400)) for off in (0.05, -0.05))
    assert growth_outside_band([inside]) == ()
    (found,) = growth_outside_band([outside])
    assert (found.rule, found.weight) == ("growth-outside-band", Weight.CHECK)
    check(found)


def test_a_first_refraction_outside_the_published_ages_gives_way_to_the_next() -> None:
    series = (refracted(30.0, 10), refracted(20.0, 100), refracted(2.0, 400))
    assert [f.rule for f in growth_outside_band([Course(Laterality.RIGHT, BORN, BORN, False, series)])] == ["growth-outside-band"]


def test_an_eye_that_grows_longer_than_suspects_asks_for_its_pressure() -> None:
    # from 0.2 to 5 years suspects grew 4.3 mm (Lambert 2020): so does this eye, within what measuring gives
    usual, long = (course(lengths=((73, 18.0), (1826, 18.0 + grown))) for grown in (4.5, 4.7))
    assert growth_outside_band([usual]) == ()
    (found,) = growth_outside_band([long])
    assert (found.rule, found.status) == ("growth-outside-band", Status.COMMON_PRACTICE)
    check(found)


def test_lengths_outside_the_trials_ages_are_not_judged() -> None:
    assert growth_outside_band([course(lengths=((10, 16.0), (73, 19.0), (2000, 30.0)))]) == ()


def test_a_refraction_from_before_the_operation_is_none_of_an_aphakic_eye() -> None:
    with pytest.raises(ClinicalInputError) as refused:
        course(refracted(20.0, 40))
    assert refused.value.field == "on"


def test_beside_the_forecast_each_plane_has_its_own_published_course() -> None:
    start, later = refracted(20.0, 183), BORN + timedelta(days=365)
    assert course().beside(start, later, SPECTACLES) == pytest.approx(20.0 - 2.11 * 182 / 365.25)
    at_cornea = start.refraction.at(CORNEA).power
    assert course().beside(start, later, CORNEA) == pytest.approx(at_cornea - 0.37 * 182 / 365.25 * 12, abs=0.01)  # from six months to twelve
    both = Course(Laterality.LEFT, BORN, OPERATED, True)
    assert both.beside(start, later, SPECTACLES) == pytest.approx(20.0 - 2.11 * 182 / 365.25)
    with pytest.raises(ClinicalInputError) as refused:
        both.beside(start, later, CORNEA)
    assert refused.value.field == "plane"


def test_a_forecast_in_words_names_both_planes_and_is_rounded_for_its_reader() -> None:
    on = BORN + timedelta(days=365)
    found = forecast_finding(Laterality.LEFT, course().forecast(refracted(20.0, 183), on), on)
    check(found)
    assert {"glasses", "cornea"} <= found.message.params.keys()
    assert all(float(f"{p.value:.2f}") == p.value for p in found.message.params.values() if isinstance(p, Quantity))


def test_the_trials_habit_is_told_as_a_habit() -> None:
    found = trials_habit()
    check(found)
    assert (found.value, found.status) == (Quantity(3.0, Unit.DIOPTRE), Status.COMMON_PRACTICE)
