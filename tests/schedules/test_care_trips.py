"""Visits close together, as one journey."""

from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from schedules.care_sets import CareSet
from schedules.care_visits import trips
from schedules.care_words import CareItem, CareKind
from shared.findings import msg

MONDAY = date(2026, 3, 2)


def day(n: int) -> date:
    return MONDAY + timedelta(days=n)


def item(kind: CareKind, on: int, latest: int | None = None, caused: int = -100, ordinal: int = 1, met: int | None = None) -> CareItem:
    words = msg("care")
    dated = {"latest_on": None if latest is None else day(latest), "met_on": None if met is None else day(met)}
    return CareItem(kind, day(on), ordinal, None, words, words, day(caused), **dated)


def found(*items: CareItem, **changed: int) -> list[tuple[int, list[CareKind]]]:
    return [((trip.on - MONDAY).days, [i.kind for i in trip.items]) for trip in trips(items, [CareSet(**changed)])]


PRESSURE, REFRACTION, STITCHES, VISIT = CareKind.PRESSURE_CHECK, CareKind.REFRACTION_CHECK, CareKind.STITCH_CHECK, CareKind.VISIT


def test_visits_within_the_clinics_days_are_one_trip_on_the_earliest() -> None:
    assert found(item(PRESSURE, 24), item(REFRACTION, 10)) == [(10, [REFRACTION, PRESSURE])]
    assert found(item(PRESSURE, 25), item(REFRACTION, 10)) == [(10, [REFRACTION]), (25, [PRESSURE])]
    assert found(item(PRESSURE, 11), item(REFRACTION, 10), together_days=0) == [(10, [REFRACTION]), (11, [PRESSURE])]


def test_a_booked_day_takes_what_comes_due_soon_after_and_nothing_that_is_due_before() -> None:
    assert found(item(VISIT, 12), item(PRESSURE, 11), item(REFRACTION, 26)) == [(11, [PRESSURE]), (12, [VISIT, REFRACTION])]
    assert found(item(VISIT, 12), item(PRESSURE, 11), item(REFRACTION, 20)) == [(11, [PRESSURE]), (12, [VISIT, REFRACTION])]
    assert found(item(VISIT, 12), item(VISIT, 14, ordinal=2)) == [(12, [VISIT]), (14, [VISIT])]


def test_a_range_is_kept() -> None:
    assert found(item(STITCHES, 7, 14), item(CareKind.FIRST_CORRECTION, 7)) == [(7, [CareKind.FIRST_CORRECTION, STITCHES])]
    assert found(item(STITCHES, 8, 14), item(CareKind.FIRST_CORRECTION, 7)) == [(7, [CareKind.FIRST_CORRECTION]), (14, [STITCHES])]


def test_nothing_comes_forward_before_its_cause_nor_is_done_twice() -> None:
    assert found(item(REFRACTION, 10), item(CareKind.FIRST_CORRECTION, 12, caused=11)) == [(10, [REFRACTION]), (12, [CareKind.FIRST_CORRECTION])]
    assert found(item(REFRACTION, 10, met=9), item(CareKind.DROPS, 10), item(CareKind.SPARE_LENS, 10)) == []


def test_the_days_are_those_of_the_set_that_holds_on_the_trip() -> None:
    sets = [CareSet(together_days=0), CareSet(day(20), together_days=5)]
    pairs = [item(REFRACTION, 10), item(PRESSURE, 12), item(REFRACTION, 20), item(PRESSURE, 25)]
    assert [(trip.on - MONDAY).days for trip in trips(pairs, sets)] == [10, 12, 20]


VISITS = st.lists(
    st.tuples(st.sampled_from([k for k in CareKind if k.is_visit]), st.integers(0, 90), st.none() | st.integers(0, 14), st.integers(0, 120)),
    max_size=12,
).map(lambda made: [item(kind, on, None if over is None or kind is VISIT else on + over, on - before, n) for n, (kind, on, over, before) in enumerate(made)])


@given(VISITS, st.integers(0, 21))
def test_every_visit_is_made_once_in_time_and_not_too_early(items: list[CareItem], together: int) -> None:
    made = trips(items, [CareSet(together_days=together)])
    assert sorted(i.key for trip in made for i in trip.items) == sorted(i.key for i in items)
    for trip in made:
        for one in trip.items:
            assert trip.on <= one.due_on and trip.on >= one.caused_on
            assert trip.on >= (one.on if one.latest_on else one.on - timedelta(days=together))
