"""Is a change more than a retest gives? The answer belongs to the test, and is not known for some."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.errors import ClinicalInputError
from shared.sight.acuity import read_acuity
from shared.sight.acuity_repeatability import change_beyond_retest, repeatability
from shared.vocabulary import AcuityMethod, Status
from tests.shared.messages import check

HOTV, PICTURES, CHART, CARDS = AcuityMethod.CROWDED_HOTV, AcuityMethod.CROWDED_PICTURES, AcuityMethod.LOGMAR_CHART, AcuityMethod.GRATING_CARDS


@pytest.mark.parametrize(
    ("method", "before", "now", "rule"),
    [
        (HOTV, "0.40 logMAR", "0.30 logMAR", "within-retest"),  # Holmes 2001: the 95 % interval of a change is 0.18
        (HOTV, "0.50 logMAR", "0.30 logMAR", "beyond-retest"),
        (PICTURES, "0.40 logMAR", "0.58 logMAR", "within-retest"),  # Chen 2006: 95 % limits of 0.18
        (PICTURES, "0.40 logMAR", "0.60 logMAR", "beyond-retest"),
        (CHART, "70 letters", "79 letters", "within-retest"),  # Beck 2003: ten letters or more are unlikely to be noise
        (CHART, "70 letters", "80 letters", "beyond-retest"),
        (CHART, "80 letters", "70 letters", "beyond-retest"),
        (CARDS, "6.5 cpd", "9.8 cpd", "within-retest"),  # Mayer 1995: half an octave in nine of ten retests; an octave by inference
        (CARDS, "6.5 cpd", "13 cpd", "beyond-retest"),
        (CARDS, "13 cpd", "6.5 cpd", "beyond-retest"),
        (AcuityMethod.CROWDED_LETTERS, "0.9 logMAR", "0.1 logMAR", "retest-not-known"),
        (AcuityMethod.SNELLEN_CHART, "6/60", "6/6", "retest-not-known"),
    ],
)
def test_each_test_has_its_own_limit(method: AcuityMethod, before: str, now: str, rule: str) -> None:
    found = change_beyond_retest(read_acuity(before), read_acuity(now), method)
    assert found.rule == rule
    check(found)


def test_what_is_inferred_or_carried_over_says_so() -> None:
    statuses = {method: known.status for method in AcuityMethod if (known := repeatability(method))}
    assert statuses == {CARDS: Status.DERIVED, PICTURES: Status.READ, HOTV: Status.READ, CHART: Status.COMMON_PRACTICE}


@given(st.sampled_from([HOTV, PICTURES, CHART]), st.integers(0, 100), st.integers(0, 100))
def test_the_way_back_is_as_far_as_the_way_there(method: AcuityMethod, one: int, other: int) -> None:
    first, second = read_acuity(f"{one / 100:.2f} logMAR"), read_acuity(f"{other / 100:.2f} logMAR")
    there, back = change_beyond_retest(first, second, method), change_beyond_retest(second, first, method)
    assert there.rule == back.rule
    assert there.value is not None and back.value is not None and there.value.value == -back.value.value
    assert (there.message.params["way"] == back.message.params["way"]) is (one == other)


def test_two_kinds_of_test_are_never_compared() -> None:
    with pytest.raises(ClinicalInputError):
        change_beyond_retest(read_acuity("20/40"), read_acuity("6 cpd"), CARDS)
