"""Where the proposal jumps: a walk through every day of age and every line of the chart, and the list of jumps that publications make, no more."""

from collections.abc import Iterable, Iterator
from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise

import pytest

from shared.dates import completed_months
from shared.errors import ClinicalInputError
from shared.sight.acuity import read_acuity
from shared.treatment.dose import NoPublishedDose, OcclusionFacts, Proposal
from shared.treatment.occlusion import propose
from shared.vocabulary import Aetiology, OpticalStatus

BORN_ON = date(2004, 2, 29)  # a day that most years do not have
INFANT = OcclusionFacts(0, Aetiology.DEPRIVATION, OpticalStatus.APHAKIC, OpticalStatus.PHAKIC, 0)
CHILD = OcclusionFacts(0, Aetiology.STRABISMIC, OpticalStatus.PHAKIC, OpticalStatus.PHAKIC, None, read_acuity("20/63"), read_acuity("-0.3 logMAR"))
LINES = [n / 10 for n in range(-3, 18)]

Answer = tuple[str, int]  # the rule ("" where no dose is published) and whole minutes


def answer(facts: OcclusionFacts) -> Answer:
    found = propose(facts)
    return (found.rule, found.minutes_per_day) if isinstance(found, Proposal) else ("", 0)


def days(years: int) -> list[date]:
    return [BORN_ON + timedelta(days=n) for n in range(int(years * 365.25))]


def by_age(facts: OcclusionFacts, years: int) -> Iterator[tuple[date, Answer]]:
    """One answer a day; a month's is asked once."""
    known: dict[int, Answer] = {}
    for day in days(years):
        months = completed_months(BORN_ON, day)
        if months not in known:
            surgery = min(months, 1) if facts.age_at_surgery_months is not None else None
            known[months] = answer(replace(facts, age_months=months, age_at_surgery_months=surgery, glasses_needed=False))
        yield day, known[months]


def jumps(walk: Iterable[tuple[date, Answer]]) -> list[tuple[int, str, str]]:
    """(completed months, rule before, rule from then on), once for each change of the rule."""
    return [(completed_months(BORN_ON, now), was[0], then[0]) for (_, was), (now, then) in pairwise(walk) if was[0] != then[0]]


def test_an_infants_rule_changes_at_one_month_eight_months_and_five_years() -> None:
    assert jumps(by_age(INFANT, 7)) == [
        (1, "", "infant-by-completed-month"),
        (8, "infant-by-completed-month", "infant-half-of-waking-hours"),
        (60, "infant-half-of-waking-hours", ""),
    ]


def test_between_them_an_infants_minutes_rise_by_an_hour_a_month_and_then_by_a_few_minutes() -> None:
    """IATS (PMC3336096): 1 h for each month, then half of the waking hours; the equation of Galland 2012 is smooth."""
    walk = list(by_age(INFANT, 7))
    steps = [
        (completed_months(BORN_ON, now), then[1] - was[1]) for (_, was), (now, then) in pairwise(walk) if was[0] == then[0] and then[0] and then[1] != was[1]
    ]
    assert [step for month, step in steps if month < 8] == [60] * 6
    assert all(0 < step <= 5 for month, step in steps if month >= 8)
    falls = [(completed_months(BORN_ON, now), then[1] - was[1]) for (_, was), (now, then) in pairwise(walk) if then[0] and then[1] < was[1]]
    assert falls == [(8, 330 - 420)], "the one fall is the published one, and it is not smoothed"


@pytest.mark.parametrize(("line", "word", "minutes"), [("20/63", "moderate-two-hours", 120), ("20/200", "severe-six-hours", 360)])
def test_a_schoolchilds_rule_changes_its_trial_at_seven_and_thirteen_and_never_its_minutes(line: str, word: str, minutes: int) -> None:
    walk = list(by_age(replace(CHILD, amblyopic_acuity=read_acuity(line)), 20))
    assert jumps(walk) == [
        (36, "", word),
        (84, word, f"{word}-at-7-to-12"),
        (156, f"{word}-at-7-to-12", f"{word}-at-13-to-17"),
        (216, f"{word}-at-13-to-17", ""),
    ]
    assert {then[1] for _, then in walk if then[0]} == {minutes}


@pytest.mark.parametrize("months", [36, 60, 83, 84, 155, 156, 215])
def test_down_the_chart_the_rule_changes_at_the_edges_of_the_bands_alone(months: int) -> None:
    """ATS2B 20/40 to 20/80 (0.3 to 0.6), ATS2A 20/100 to 20/400 (0.7 to 1.3), in chart steps."""
    walk = [(line, answer(replace(CHILD, age_months=months, glasses_needed=False, amblyopic_acuity=read_acuity(f"{line} logMAR")))) for line in LINES]
    assert [(now, was[1], then[1]) for (_, was), (now, then) in pairwise(walk) if was[0] != then[0]] == [(0.3, 0, 120), (0.7, 120, 360), (1.4, 360, 0)]


@pytest.mark.parametrize("months", [0, 1, 7, 8, 35, 36, 59, 60, 83, 84, 155, 156, 215, 216])
@pytest.mark.parametrize("cause", Aetiology)
def test_on_every_boundary_of_age_and_acuity_the_answer_is_one_of_the_published(months: int, cause: Aetiology) -> None:
    """Every line with every cause: no other number comes out than hours of the trials or the infant rule's own."""
    for line in (*LINES, None):
        acuity = None if line is None else read_acuity(f"{line} logMAR")
        facts = replace(CHILD, age_months=months, aetiology=cause, amblyopic_acuity=acuity, glasses_needed=False)
        asks_acuity = line is None and cause not in (Aetiology.DEPRIVATION, Aetiology.AMETROPIC) and 36 <= months < 216
        if asks_acuity:
            with pytest.raises(ClinicalInputError) as refused:
                propose(facts)
            assert refused.value.field == "amblyopic_acuity"
            continue
        found = propose(facts)
        if isinstance(found, NoPublishedDose):
            outside = not 36 <= months < 216 or line is None or not 0.3 <= line <= 1.3
            assert outside or cause in (Aetiology.DEPRIVATION, Aetiology.AMETROPIC)
        else:
            assert line is not None and found.minutes_per_day == (120 if line <= 0.6 else 360)
