"""The ledger of lenses, lens ranges as they are typed, and the prompts around the dose (common practice throughout)."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.errors import ClinicalInputError
from shared.lens_words import LensState
from shared.optics.ledger import MAY_FOLLOW, Lens, check_step, ledger_findings, spare_valid_until
from shared.optics.lens_range import LensRange, Span, read_spans, shown_spans
from shared.vocabulary import Laterality, Status
from tests.shared.messages import check

TODAY = date(2026, 3, 2)
LEFT = Laterality.LEFT


def lens(state: LensState, days_old: int = 10, superseded: bool = False, barred: bool = False) -> Lens:
    return Lens(LEFT, 29.0, state, spare_valid_until(TODAY - timedelta(days=days_old)), superseded, barred)


def rules(*lenses: Lens) -> list[str]:
    found = ledger_findings([LEFT], lenses, TODAY)
    check(found)
    return [f.rule for f in found]


def test_what_the_ledger_brings_up() -> None:
    assert rules() == [], "a ledger that was never begun says nothing"
    assert rules(lens(LensState.IN_USE), lens(LensState.ARRIVED)) == []
    assert rules(lens(LensState.IN_USE)) == ["lens-no-spare"]
    assert rules(lens(LensState.LOST), lens(LensState.ARRIVED)) == ["lens-none-in-use"]
    assert rules(lens(LensState.IN_USE), lens(LensState.FOUND, 100)) == ["lens-no-spare", "lens-spare-stale"]
    assert rules(lens(LensState.IN_USE, barred=True), lens(LensState.ARRIVED)) == ["lens-none-in-use", "lens-barred-in-use"], "an old lens after surgery"
    assert rules(lens(LensState.IN_USE, superseded=True), lens(LensState.ARRIVED, superseded=True)) == ["lens-no-spare", "lens-superseded-in-use"]


def test_an_eye_that_needs_no_lens_is_asked_for_none_but_its_old_lens_is_still_seen() -> None:
    found = ledger_findings([], [lens(LensState.IN_USE, barred=True), lens(LensState.FOUND, barred=True, days_old=200)], TODAY)
    assert [f.rule for f in found] == ["lens-barred-in-use"]


def test_a_spare_is_trusted_for_three_calendar_months() -> None:
    assert spare_valid_until(date(2025, 11, 30)) == date(2026, 2, 28)
    assert spare_valid_until(date(2025, 11, 30), date(2026, 1, 4)) == date(2026, 1, 4), "the forecast, where there is one"
    old = Lens(LEFT, 29.0, LensState.ARRIVED, date(2026, 2, 28))
    assert old.is_spare(date(2026, 2, 27)) and not old.is_spare(date(2026, 2, 28))


def test_a_broken_lens_stays_broken_and_no_entry_lies_before_the_last() -> None:
    assert MAY_FOLLOW[LensState.BROKEN] == frozenset() and set(MAY_FOLLOW) == set(LensState)
    with pytest.raises(ClinicalInputError) as refused:
        check_step(LensState.BROKEN, LensState.IN_USE, TODAY, TODAY)
    assert refused.value.field == "state"
    with pytest.raises(ClinicalInputError) as refused:
        check_step(LensState.LOST, LensState.FOUND, TODAY, TODAY - timedelta(days=1))
    assert refused.value.field == "on"


@given(st.lists(st.tuples(st.integers(-80, 80), st.integers(0, 40), st.sampled_from([0.25, 0.5, 1.0, 1 / 3])), min_size=1, max_size=5))
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


def test_what_is_wrong_with_a_span_is_said() -> None:
    with pytest.raises(ClinicalInputError, match="do not lead from 20 to 21"):
        read_spans("+20 to +21 by 0.3")
