"""Reported wear against what was prescribed. Where a paper gives the figures, it stands beside the check; the interval is our own."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from schedules.adherence import Adherence, HowKnown, Span, WearEntry, adherence, day_wear, days_not_worn
from schedules.regimen import Regimen
from shared.errors import ClinicalInputError
from shared.treatment.dose import DatedDose
from shared.treatment.protocol_words import Pattern
from shared.vocabulary import Laterality, MissingCorrectionRule, Phase

MONDAY = date(2026, 3, 2)
WEEK = Span(MONDAY, MONDAY + timedelta(days=7))


def day(n: int) -> date:
    return MONDAY + timedelta(days=n)


def regimen(weeks: int, *steps: tuple[int, int]) -> Regimen:
    """An occlusion revision of so many weeks; `steps` are (day, minutes a day from then)."""
    doses = tuple(DatedDose(day(on), minutes) for on, minutes in steps)
    return Regimen(1, Phase.OCCLUSION, MONDAY, day(7 * weeks), Laterality.RIGHT, doses, MissingCorrectionRule.GO_ON)


def wear(key: str, n: int, minutes: int, *, worn: bool | None = True, replaces: str | None = None, withdrawn: bool = False) -> WearEntry:
    return WearEntry(key, day(n), minutes, worn, replaces, withdrawn, datetime(2026, 3, 2, 18, tzinfo=UTC) + timedelta(days=n), None)


def test_awan_2005_three_hours_prescribed_and_1_h_43_received() -> None:
    """Awan, Proudlock, Gottlob 2005, IOVS 46:1435-9, doi 10.1167/iovs.04-0971: 3 h a day over 12 weeks, 1 h 43 received on average.

    The paper's 57.5 % is the mean of each child's own ratio; the ratio of the means, which is what one record can give, is 57.2 %.
    """
    result = adherence([regimen(12, (0, 180))], [wear(str(n), n, 103) for n in range(84)], Span(day(0), day(84)))
    assert result.low == result.high == pytest.approx(0.572, abs=0.0005)
    assert result.low == pytest.approx(0.575, abs=0.005)
    assert result.prescribed_minutes == 84 * 180


def test_eupatch_ten_hours_six_days_a_week_for_twelve_weeks_is_720_hours() -> None:
    """Proudlock et al. 2024, Lancet 403:1766-78 (https://eprints.soton.ac.uk/490096): 10 h a day, 6 days a week; 10 x 6 x 12 = 720 h."""
    six_days = replace(regimen(12, (0, 600)), doses=(DatedDose(day(0), 600, Pattern.SIX_DAYS_A_WEEK),))
    result = adherence([six_days], [], Span(day(-10), day(100)))
    assert result.prescribed_minutes == 720 * 60
    assert (result.days_prescribed, result.days_unknown) == (72, 72)


def test_unknown_days_make_an_interval_and_stand_apart_from_zero_days() -> None:
    entries = [wear("a", 0, 120), wear("b", 1, 60), wear("c", 2, 0)]
    assert adherence([regimen(4, (0, 120))], entries, WEEK) == Adherence(
        prescribed_minutes=840,
        received_minutes=180,
        without_correction_minutes=0,
        days_prescribed=7,
        days_known=3,
        days_zero=1,
        days_unknown=4,
        low=180 / 840,
        high=180 / 360,
    )


def test_nothing_said_is_not_nothing_worn() -> None:
    assert day_wear([], day(0)).how_known is HowKnown.UNKNOWN
    zero = day_wear([wear("a", 0, 0)], day(0))
    assert (zero.how_known, zero.received_minutes, zero.nothing_worn) == (HowKnown.REPORTED, 0, True)
    assert not day_wear([], day(0)).nothing_worn


def test_entries_of_a_day_add_up_and_other_days_are_left_alone() -> None:
    assert day_wear([wear("a", 0, 40), wear("b", 0, 50), wear("c", 1, 500)], day(0)).received_minutes == 90


def test_a_correction_takes_the_place_of_the_entry_it_names_however_often() -> None:
    entries = [wear("a", 0, 40), wear("b", 0, 50, replaces="a"), wear("c", 0, 70, replaces="b"), wear("d", 0, 5)]
    assert day_wear(entries, day(0)).received_minutes == 75


def test_an_undone_entry_leaves_the_day_unknown() -> None:
    undone = [wear("a", 0, 40), wear("b", 0, 0, replaces="a", withdrawn=True)]
    assert day_wear(undone, day(0)).how_known is HowKnown.UNKNOWN
    assert day_wear([*undone, wear("c", 0, 30)], day(0)).received_minutes == 30


def test_hours_without_the_glasses_or_lens_are_shown_apart_and_are_not_a_zero_day() -> None:
    entries = [wear("a", 0, 60), wear("b", 0, 45, worn=False), wear("c", 0, 15, worn=None), wear("d", 1, 90, worn=False)]
    mixed = day_wear(entries, day(0))
    assert (mixed.received_minutes, mixed.without_correction_minutes) == (75, 45)
    week = adherence([regimen(1, (0, 120))], entries, WEEK)
    assert (week.received_minutes, week.without_correction_minutes, week.days_zero, week.days_known) == (75, 135, 0, 2)


def test_more_than_prescribed_is_reported_as_it_is() -> None:
    assert adherence([regimen(1, (0, 60))], [wear("a", 0, 180)], Span(day(0), day(1))).high == 3.0


def test_there_is_no_ratio_where_nothing_was_prescribed_or_nothing_is_known() -> None:
    nothing = adherence([], [wear("a", 0, 60)], WEEK)
    assert (nothing.low, nothing.high, nothing.days_prescribed, nothing.received_minutes) == (None, None, 0, 60)
    silent = adherence([regimen(1, (0, 60))], [], WEEK)
    assert (silent.low, silent.high) == (0.0, None)


def test_a_missed_day_made_up_for_on_a_free_day_counts_as_received() -> None:
    six_days = regimen(1, (0, 60), (6, 0))
    result = adherence([six_days], [*(wear(str(n), n, 60) for n in range(5)), wear("none", 5, 0), wear("sunday", 6, 60)], WEEK)
    assert (result.low, result.high, result.days_prescribed, result.days_zero) == (1.0, 1.0, 6, 1)


def test_impossible_minutes_and_a_backward_span_are_refused_by_field() -> None:
    for minutes in (-1, 25 * 60):
        with pytest.raises(ClinicalInputError) as refused:
            wear("a", 0, minutes)
        assert refused.value.field == "minutes"
    with pytest.raises(ClinicalInputError) as backward:
        Span(day(1), day(0))
    assert backward.value.field == "end_on"
    with pytest.raises(ValueError, match="naive"):
        WearEntry("a", day(0), 10, None, None, False, datetime(2026, 3, 2, 18), None)  # noqa: DTZ001


@st.composite
def logs(draw: st.DrawFn) -> list[WearEntry]:
    """A fortnight of entries, some of which replace or withdraw an earlier one of the same day."""
    entries: list[WearEntry] = []
    for key in map(str, range(draw(st.integers(0, 12)))):
        open_keys = [e.key for e in entries if e.key not in {x.replaces for x in entries}]
        replaces = draw(st.none() | st.sampled_from(open_keys)) if open_keys else None
        n = draw(st.integers(0, 13)) if replaces is None else (entries[int(replaces)].local_on - MONDAY).days
        withdrawn = replaces is not None and draw(st.booleans())
        entries.append(wear(key, n, draw(st.integers(0, 300)), worn=draw(st.sampled_from([True, False, None])), replaces=replaces, withdrawn=withdrawn))
    return entries


@given(logs().flatmap(lambda log: st.tuples(st.just(log), st.permutations(log))))
def test_the_interval_holds_and_the_order_of_entries_is_of_no_account(orders: tuple[Sequence[WearEntry], Sequence[WearEntry]]) -> None:
    entries, shuffled = orders
    revisions, span = [regimen(2, (0, 90), (6, 0), (7, 120))], Span(day(0), day(14))
    result = adherence(revisions, entries, span)
    assert result.days_known + result.days_unknown == result.days_prescribed == 13
    assert 0 <= result.days_zero <= result.days_known
    assert result.low is not None
    assert result.high is None or result.low <= result.high
    days = [day_wear(entries, on) for on in span.days()]
    assert result.received_minutes == sum(d.received_minutes for d in days)
    assert adherence(revisions, shuffled, span) == result


@given(logs(), st.integers(0, 13), st.integers(0, 300))
def test_an_entry_withdrawn_at_once_leaves_everything_as_it_was(entries: list[WearEntry], n: int, minutes: int) -> None:
    slip = wear("slip", n, minutes)
    undo = wear("undo", n, 0, replaces="slip", withdrawn=True)
    for on in Span(day(0), day(14)).days():
        assert day_wear([*entries, slip, undo], on) == day_wear(entries, on)


def test_days_with_the_glasses_off_are_those_of_which_nothing_else_was_said() -> None:
    off = [wear(f"off-{n}", n, 0, worn=False) for n in range(5)]
    assert days_not_worn(off, WEEK) == 5 and days_not_worn([], WEEK) == 0, "unknown is not off"
    on_after_all = wear("on", 0, 0, worn=True)
    patched_without = wear("patched", 1, 60, worn=False)
    corrected = [wear("corrected", 2, 0, worn=True, replaces="off-2"), wear("gone", 3, 0, worn=False, replaces="off-3", withdrawn=True)]
    not_asked = wear("ill", 6, 0, worn=None)
    assert days_not_worn([*off, on_after_all, patched_without, *corrected, not_asked], WEEK) == 1
    assert days_not_worn([*off, wear("late", 9, 0, worn=False)], Span(day(4), day(7))) == 1


def timed(key: str, start: int, end: int, *, worn: bool = True) -> WearEntry:
    """Of Monday, by minutes after its midnight."""
    at = [datetime(2026, 3, 2, tzinfo=UTC) + timedelta(minutes=n) for n in (start, end)]
    return WearEntry(key, MONDAY, end - start, worn, None, False, datetime(2026, 3, 2, 18, tzinfo=UTC), None, started_at=at[0], ended_at=at[1])


def test_two_who_note_the_same_hour_have_not_given_two() -> None:
    both = [timed("a", 540, 600), timed("b", 570, 660)]
    assert day_wear(both, MONDAY).received_minutes == 120
    assert day_wear([*both, wear("c", 0, 30)], MONDAY).received_minutes == 150, "minutes without times are added"
    off = day_wear([timed("a", 540, 600), timed("b", 570, 660, worn=False)], MONDAY)
    assert (off.received_minutes, off.without_correction_minutes) == (30, 90), "where one says the glasses were off, they were"


TIMED = st.lists(st.tuples(st.integers(0, 1439), st.integers(1, 600), st.booleans()), max_size=8)


@given(TIMED, st.randoms(use_true_random=False))
def test_times_together_are_every_minute_once_in_any_order_and_however_often(said: list[tuple[int, int, bool]], order) -> None:
    """Against the set of minutes itself."""
    entries = [timed(str(n), start, min(start + length, 1440), worn=worn) for n, (start, length, worn) in enumerate(said)]
    minutes = {m for start, length, _ in said for m in range(start, min(start + length, 1440))}
    off = {m for start, length, worn in said if not worn for m in range(start, min(start + length, 1440))}
    shuffled = [replace(e, key=f"{e.key}{again}") for e in entries for again in "ab"]
    order.shuffle(shuffled)
    for these in (entries, shuffled):
        found = day_wear(these, MONDAY)
        assert (found.received_minutes, found.without_correction_minutes) == (len(minutes - off), len(off))


@given(TIMED, st.lists(st.integers(0, 1440), max_size=4))
def test_no_day_has_more_minutes_than_a_day(said: list[tuple[int, int, bool]], more: list[int]) -> None:
    entries = [timed(str(n), start, min(start + length, 1440), worn=worn) for n, (start, length, worn) in enumerate(said)]
    found = day_wear([*entries, *(wear(f"u{n}", 0, minutes) for n, minutes in enumerate(more))], MONDAY)
    assert found.received_minutes >= 0 and found.without_correction_minutes >= 0 and found.received_minutes + found.without_correction_minutes <= 1440


def test_a_timed_entry_holds_its_own_whole_minutes() -> None:
    with pytest.raises(ValueError, match="whole ones"):
        replace(timed("a", 540, 600), minutes=61)
