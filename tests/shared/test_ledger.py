"""The ledger of lenses, lens ranges as they are typed, and the prompts around the dose (common practice throughout)."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.errors import ClinicalInputError
from shared.exchange import looks_like_exchanged_lenses
from shared.follow_up import near_added_twice, observation_dates
from shared.ledger import MAY_FOLLOW, Lens, check_step, ledger_findings, spare_valid_until
from shared.lens_range import LensRange, Span, read_spans, shown_spans
from shared.review_facts import NearInForce
from shared.vocabulary import Laterality, LensState, Status

TODAY = date(2026, 3, 2)
LEFT = Laterality.LEFT


def lens(state: LensState, days_old: int = 10, barred: bool = False) -> Lens:
    on = TODAY - timedelta(days=days_old)
    return Lens(LEFT, 29.0, state, on, spare_valid_until(on), barred)


def rules(*lenses: Lens) -> list[str]:
    return [f.rule for f in ledger_findings([LEFT], lenses, TODAY)]


def test_what_the_ledger_brings_up() -> None:
    assert rules() == [], "a ledger that was never begun says nothing"
    assert rules(lens(LensState.IN_USE), lens(LensState.ARRIVED)) == []
    assert rules(lens(LensState.IN_USE)) == ["lens-no-spare"]
    assert rules(lens(LensState.LOST), lens(LensState.ARRIVED)) == ["lens-none-in-use"]
    assert rules(lens(LensState.IN_USE), lens(LensState.FOUND, 100)) == ["lens-no-spare", "lens-spare-stale"]
    assert rules(lens(LensState.IN_USE, barred=True), lens(LensState.ARRIVED)) == ["lens-none-in-use"], "an old lens after surgery"


def test_a_broken_lens_stays_broken_and_no_entry_lies_before_the_last() -> None:
    assert MAY_FOLLOW[LensState.BROKEN] == frozenset() and set(MAY_FOLLOW) == set(LensState)
    with pytest.raises(ClinicalInputError) as refused:
        check_step(LensState.BROKEN, LensState.IN_USE, TODAY, TODAY)
    assert refused.value.field == "state"
    with pytest.raises(ClinicalInputError) as refused:
        check_step(LensState.LOST, LensState.FOUND, TODAY, TODAY - timedelta(days=1))
    assert refused.value.field == "on"


@given(st.lists(st.tuples(st.integers(-80, 80), st.integers(0, 40), st.sampled_from([0.25, 0.5, 1.0])), min_size=1, max_size=5))
def test_a_range_is_read_back_as_it_is_shown(spans: list[tuple[int, int, float]]) -> None:
    made = tuple(Span(first / 4, first / 4 + n * step, step) for first, n, step in spans if first / 4 + n * step <= 60)
    if made:
        read = read_spans(shown_spans(made))
        assert LensRange("a", read, Status.COMMON_PRACTICE).powers == LensRange("a", made, Status.COMMON_PRACTICE).powers


@pytest.mark.parametrize("typed", ["20 to", "+32 to +20 by 1", "20 to 21 by 0.3", "20 to 21 by 0", "x", "-50 to 0 by 1"])
def test_a_range_that_cannot_be_is_refused(typed: str) -> None:
    with pytest.raises(ClinicalInputError) as refused:
        read_spans(typed)
    assert refused.value.field == "powers"


def test_exchanged_lenses_near_twice_and_the_year_after_stopping() -> None:
    assert looks_like_exchanged_lenses(3.0, -2.75) and not looks_like_exchanged_lenses(3.0, 3.0) and not looks_like_exchanged_lenses(0.5, -0.5)
    assert [f.rule for f in near_added_twice((NearInForce(LEFT, 2.0, 2.5), NearInForce(Laterality.RIGHT, 2.0, 0.0)))] == ["near-added-twice"]
    assert observation_dates(date(2025, 11, 30)) == (date(2026, 2, 28), date(2026, 5, 30), date(2026, 11, 30))
