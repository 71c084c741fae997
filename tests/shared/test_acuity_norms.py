"""An acuity against the norm of its age: each norm for its own test and its own ages, never beyond them."""

import math
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.dates import corrected_months
from shared.errors import ClinicalInputError
from shared.findings import Unit, Weight
from shared.sight.acuity import read_acuity
from shared.sight.acuity_norms import AgeNorm, against_norm, at_age, between_eyes, norms_for
from shared.sources import table
from shared.vocabulary import AcuityMethod, Status
from tests.shared.messages import check

AGES = {
    AgeNorm.MAYER_1995: (1, 48),
    AgeNorm.SALOMAO_VENTURA_1995: (2, 36),
    AgeNorm.LEONE_2014: (6, 32),
    AgeNorm.PAN_2009: (30, 72),
    AgeNorm.HOTV_COHORT: (30, 72),
}


@pytest.mark.parametrize("norm", AgeNorm)
def test_a_norm_holds_at_its_own_ages_and_is_refused_outside_them(norm: AgeNorm) -> None:
    youngest, oldest = AGES[norm]
    for age in range(youngest, oldest + 1):
        here = at_age(norm, age)
        assert here.limit.value < 2 and math.isfinite(here.limit.value) if here.limit.unit is Unit.LOGMAR else here.limit.value > 0
        check(here.working)
    for age in (youngest - 1, oldest + 1, -1, 1200, math.nan, math.inf):
        with pytest.raises(ClinicalInputError) as refused:
            at_age(norm, age)
        assert refused.value.field == "age_months"
        check(refused.value.message)


@pytest.mark.parametrize(("age", "limit"), [(6, 2.98), (12, 4.33), (24, 6.63)])
def test_the_lower_limit_is_derived_from_mean_and_sd(age: int, limit: float) -> None:
    """mean / 2^(1.96 SD) by hand from Mayer's means and SD; the re-extraction's own column of limits repeats the SD."""
    here = at_age(AgeNorm.MAYER_1995, age)
    assert here.limit.value == pytest.approx(limit, abs=0.005)
    assert here.status is Status.READ_SECONDHAND
    assert "derived" in here.working[-1].text


@pytest.mark.parametrize(("age", "mean"), [(6, 5.7), (8, 5.7), (30, 12.4), (32, 12.4)])
def test_the_table_of_a_re_extraction_agrees_with_the_papers_abstract(age: int, mean: float) -> None:
    """Leone 2014, abstract as read: 5.7 cycles/degree at 6 to under 9 months, 12.4 at 30 to under 33."""
    found = at_age(AgeNorm.LEONE_2014, age).mean
    assert found is not None and found.value == pytest.approx(mean, abs=0.05)


@pytest.mark.parametrize(("age", "mean"), [(7, 5.65), (7.5, 5.65), (8, 6.79), (42, 21.81), (43, 24.81), (2, 1.11)])
def test_between_two_groups_the_nearest_tested_age_counts_at_equal_distance_the_younger(age: float, mean: float) -> None:
    found = at_age(AgeNorm.MAYER_1995, age).mean
    assert found is not None and found.value == mean


@given(st.sampled_from([AgeNorm.MAYER_1995, AgeNorm.LEONE_2014]), st.integers(6, 32))
def test_a_limit_lies_below_the_mean_by_two_standard_deviations(norm: AgeNorm, age: int) -> None:
    here = at_age(norm, age)
    assert here.mean is not None
    down = math.log2(here.mean.value / here.limit.value) / 1.96
    assert any(down == pytest.approx(sd) for sd in table(norm.value, "monocular").column("sd"))


@given(st.sampled_from(AgeNorm), st.data())
def test_worse_acuity_is_further_beyond_and_just_at_the_limit_is_within(norm: AgeNorm, data: st.DataObject) -> None:
    age = data.draw(st.integers(*AGES[norm]))
    grating = norm.method is AcuityMethod.GRATING_CARDS
    worse, better = sorted(data.draw(st.tuples(st.floats(0.2, 30), st.floats(0.2, 30)))) if grating else (0.8, 0.0)
    unit = "cpd" if grating else "logMAR"
    bad_one, fine_one = (against_norm(read_acuity(f"{value:.4f} {unit}"), norm, age) for value in (worse, better))
    assert bad_one.value is not None and fine_one.value is not None
    assert bad_one.value.value >= fine_one.value.value - 1e-9
    for found in (bad_one, fine_one):
        check(found)
        assert (found.rule == "below-age-norm") is (found.value is not None and found.value.value > 1e-9) is (found.weight is Weight.CHECK)


def test_the_thresholds_of_letters_are_lines_of_the_chart() -> None:
    """20/63 at 30 to 35 months, 20/50 to 47, 20/32 to 72 (Pan 2009, abstract as read): the line itself passes, the next one does not."""
    for age, passes, fails in ((30, "20/63", "20/80"), (35, "20/63", "20/80"), (36, "20/50", "20/63"), (47, "20/50", "20/63"), (72, "20/32", "20/40")):
        assert against_norm(read_acuity(passes), AgeNorm.PAN_2009, age).rule == "within-age-norm"
        found = against_norm(read_acuity(fails), AgeNorm.PAN_2009, age)
        assert found.rule == "below-age-norm" and found.value is not None and found.value.value == pytest.approx(0.1)
        assert found.status is Status.READ


def test_two_norms_of_one_test_agree_to_a_line() -> None:
    """Pan 2009 excludes five in a hundred, the cohort's mean + 1.96 SD two and a half: within a line of each other in the middle of each band."""
    for age in (33, 42, 54, 66):
        assert at_age(AgeNorm.PAN_2009, age).limit.value == pytest.approx(at_age(AgeNorm.HOTV_COHORT, age).limit.value, abs=0.1)


def test_gratings_and_letters_are_never_held_to_each_others_norm() -> None:
    cards, letters = AgeNorm.MAYER_1995, AgeNorm.PAN_2009
    for typed, norm in (("20/40", cards), ("HM", cards), ("6 cpd", letters), ("CF", letters), ("LP", letters)):
        with pytest.raises(ClinicalInputError) as refused:
            against_norm(read_acuity(typed), norm, 36)
        assert refused.value.field == "acuity"
        check(refused.value.message)


@pytest.mark.parametrize(
    ("apart", "rule"), [(0.5, "eyes-alike-by-gratings"), (-0.5, "eyes-alike-by-gratings"), (0.51, "eyes-differ-by-gratings"), (-2.0, "eyes-differ-by-gratings")]
)
def test_healthy_eyes_differ_by_half_an_octave_at_most(apart: float, rule: str) -> None:
    """In 99 of 100 children (Mayer 1995, abstract as read)."""
    found = between_eyes(apart)
    assert found.rule == rule and found.status is Status.READ
    check(found)


def test_most_tests_have_no_norm() -> None:
    assert [method for method in AcuityMethod if norms_for(method)] == [AcuityMethod.GRATING_CARDS, AcuityMethod.CROWDED_HOTV]
    assert norms_for(AcuityMethod.GRATING_CARDS)[0] is AgeNorm.MAYER_1995


def test_a_child_born_early_is_younger_for_a_grating_norm() -> None:
    born_on, on = date(2026, 1, 10), date(2026, 7, 10)
    assert [corrected_months(born_on, weeks, on) for weeks in (0, 4, 9)] == [6, 5, 3]
    with pytest.raises(ClinicalInputError):
        corrected_months(born_on, 9, date(2026, 2, 10))
