"""When an operated eye is refracted, whom each publication's schedule is for, and how a check comes round. The published dates stand in tests/published."""

from datetime import date, timedelta
from itertools import islice, pairwise, takewhile

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.course.care_schedule import Due, LensSurgery, RefractionSchedule, met, outside_schedule, recurring, refraction_dates, schedule_sources
from shared.dates import month_on
from shared.errors import ClinicalInputError
from shared.sources import source
from shared.vocabulary import OpticalStatus
from tests.shared.messages import check

BORN = date(2024, 1, 31)
INFANT, GUANGZHOU, IMPLANTS = RefractionSchedule
APHAKIC, PSEUDOPHAKIC = OpticalStatus.APHAKIC, OpticalStatus.PSEUDOPHAKIC
DAYS = st.integers(0, 2000).map(lambda n: BORN + timedelta(days=n))


def surgery(months: int, status: OpticalStatus = APHAKIC, both: bool = False) -> LensSurgery:
    return LensSurgery(BORN, month_on(BORN, months), status, both)


@pytest.mark.parametrize(
    ("schedule", "one", "holds"),
    [
        (INFANT, surgery(0), False),
        (INFANT, surgery(1), True),
        (INFANT, surgery(6), True),
        (INFANT, surgery(7), False),
        (INFANT, surgery(2, both=True), False),
        (INFANT, surgery(2, OpticalStatus.PHAKIC), False),
        (GUANGZHOU, surgery(1), False),
        (GUANGZHOU, surgery(2, both=True), True),
        (GUANGZHOU, surgery(14 * 12, PSEUDOPHAKIC), True),
        (GUANGZHOU, surgery(14 * 12 + 1, PSEUDOPHAKIC), False),
        (IMPLANTS, surgery(11, PSEUDOPHAKIC), False),
        (IMPLANTS, surgery(12, PSEUDOPHAKIC), True),
        (IMPLANTS, surgery(12, APHAKIC), False),
        (IMPLANTS, surgery(18 * 12, PSEUDOPHAKIC), True),
        (IMPLANTS, surgery(18 * 12 + 1, PSEUDOPHAKIC), False),
    ],
)
def test_a_schedule_is_for_children_like_those_it_was_made_with(schedule: RefractionSchedule, one: LensSurgery, holds: bool) -> None:
    outside = outside_schedule(schedule, one)
    check(outside)
    assert (outside is None) is holds
    if not holds:
        with pytest.raises(ClinicalInputError) as refused:
            refraction_dates(schedule, one)
        assert refused.value.field == "refraction_schedule"


def test_surgery_before_birth_is_refused() -> None:
    with pytest.raises(ClinicalInputError) as refused:
        refraction_dates(INFANT, LensSurgery(BORN, BORN - timedelta(days=1), APHAKIC, False))
    assert refused.value.field == "on"


@pytest.mark.parametrize("schedule", RefractionSchedule)
def test_dates_come_after_surgery_and_follow_one_another(schedule: RefractionSchedule) -> None:
    for months in (1, 2, 6, 12, 13, 90, 168):
        one = surgery(months, PSEUDOPHAKIC)
        if outside_schedule(schedule, one) is None:
            dates = list(islice(refraction_dates(schedule, one), 40))
            assert one.operated_on < dates[0] and all(earlier < later for earlier, later in pairwise(dates))


def test_each_schedule_names_publications_that_are_there() -> None:
    keys = [key for schedule in RefractionSchedule for key in schedule_sources(schedule)]
    assert [source(key).key for key in keys] == [
        "weakley-2017",
        "iats-design",
        "liu-2019",
        "crouch-2002",
    ]


def test_what_was_done_early_late_or_not_at_all() -> None:
    first, second, third = date(2024, 4, 1), date(2024, 7, 1), date(2024, 10, 1)
    done = [date(2024, 3, 18), date(2024, 4, 2), date(2024, 6, 17), date(2024, 9, 17)]
    assert list(met([first, second, third], done, 14)) == [Due(first, date(2024, 3, 18)), Due(second, date(2024, 6, 17)), Due(third, date(2024, 9, 17))]
    assert list(met([first, second, third], [date(2024, 3, 17), date(2024, 6, 16)], 14)) == [Due(first, date(2024, 6, 16)), Due(second), Due(third)]


@given(st.lists(DAYS, unique=True, min_size=1, max_size=8).map(sorted), st.lists(DAYS, max_size=8), st.integers(0, 21))
def test_one_examination_answers_one_date(dates: list[date], done: list[date], early: int) -> None:
    answered = [due.met_on for due in met(dates, done, early) if due.met_on]
    assert len(set(answered)) == len(answered) and set(answered) <= set(done)


def test_a_check_begins_anew_from_each_time_it_was_done() -> None:
    start = date(2024, 1, 31)
    assert [due.on for due in islice(recurring(start, [], lambda on: 3), 4)] == [date(2024, 4, 30), date(2024, 7, 31), date(2024, 10, 31), date(2025, 1, 31)]
    late = list(islice(recurring(start, [date(2024, 5, 10)], lambda on: 3), 3))
    assert late == [Due(date(2024, 4, 30), date(2024, 5, 10)), Due(date(2024, 8, 10)), Due(date(2024, 11, 10))]
    early = list(islice(recurring(start, [date(2024, 4, 29)], lambda on: 3), 2))
    assert early == [Due(date(2024, 7, 29)), Due(date(2024, 10, 29))]
    on_the_day = list(islice(recurring(start, [date(2024, 4, 30), start], lambda on: 3), 2))
    assert on_the_day == [Due(date(2024, 4, 30), date(2024, 4, 30)), Due(date(2024, 7, 30))]


@given(st.lists(DAYS, max_size=6), st.integers(1, 12))
def test_nobody_waits_longer_than_the_interval(done: list[date], months: int) -> None:
    until = BORN + timedelta(days=2500)
    due = [d.on for d in takewhile(lambda d: d.on < until, recurring(BORN, done, lambda on: months))]
    assert all(earlier < later for earlier, later in pairwise(due))
    seen = sorted({BORN, *due, *done})
    slack = timedelta(days=3)  # from a month's last day to a longer month's
    assert all(later <= month_on(earlier, months) + slack for earlier, later in pairwise(seen))
