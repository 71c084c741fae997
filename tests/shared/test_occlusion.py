"""The dose rules at every boundary of their populations, and the dated steps of a plan."""

from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.dates import completed_months, month_on
from shared.errors import ClinicalInputError
from shared.sight.acuity import read_acuity
from shared.treatment.dose import NoPublishedDose, OcclusionFacts, Proposal
from shared.treatment.occlusion import dated_doses, propose
from shared.vocabulary import Aetiology, OpticalStatus, Phase, Status
from tests.shared.messages import check

INFANT = OcclusionFacts(5, Aetiology.DEPRIVATION, OpticalStatus.APHAKIC, OpticalStatus.PHAKIC, 2)
CHILD = OcclusionFacts(60, Aetiology.ANISOMETROPIC, OpticalStatus.PHAKIC, OpticalStatus.PHAKIC, None, read_acuity("20/63"), read_acuity("20/20"), 18)


def minutes(facts: OcclusionFacts) -> int | None:
    found = propose(facts)
    return found.minutes_per_day if isinstance(found, Proposal) else None


def refused_field(facts: OcclusionFacts) -> str:
    with pytest.raises(ClinicalInputError) as refused:
        propose(facts)
    return refused.value.field


@pytest.mark.parametrize(("early", "said"), [(0, False), (4, False), (5, True)])
def test_an_infant_born_before_the_trials_36_weeks_has_that_said_beside_the_same_dose(early: int, said: bool) -> None:
    # IATS, Arch Ophthalmol 2010;128:21-7, table 1: born at 36 weeks or later, which is up to 4 weeks before 40
    found = propose(replace(INFANT, weeks_premature=early))
    assert isinstance(found, Proposal) and found.minutes_per_day == 300
    assert any("not tried" in c.text for c in found.cautions) is said


@pytest.mark.parametrize(("age", "hours"), [(1, 1), (2, 2), (6, 6), (7, 7), (59, "half"), (60, None), (8, "half"), (12, "half")])
def test_the_infant_rule_by_age(age: int, hours: object) -> None:
    found = propose(replace(INFANT, age_months=age, age_at_surgery_months=1))
    if hours is None:
        assert isinstance(found, NoPublishedDose)
    elif hours == "half":
        assert isinstance(found, Proposal) and found.rule == "infant-half-of-waking-hours"
    else:
        assert minutes(replace(INFANT, age_months=age, age_at_surgery_months=1)) == int(str(hours)) * 60


def test_half_of_the_familys_own_waking_hours() -> None:
    assert minutes(replace(INFANT, age_months=10, waking_hours=11.5)) == 345
    assert minutes(replace(INFANT, age_months=5, waking_hours=11.5)) == 300, "before eight months the rule does not ask for them"


@pytest.mark.parametrize(("surgery", "inside"), [(0, False), (1, True), (6, True), (7, False), (11, False)])
def test_the_infant_rule_by_age_at_surgery(surgery: int, inside: bool) -> None:
    assert (minutes(replace(INFANT, age_months=12, age_at_surgery_months=surgery)) is not None) is inside


def test_the_infant_rule_takes_an_implant_too_but_only_one_operated_eye() -> None:
    assert minutes(replace(INFANT, amblyopic_eye_status=OpticalStatus.PSEUDOPHAKIC)) == 300
    assert minutes(replace(INFANT, fellow_eye_status=OpticalStatus.APHAKIC)) is None
    assert minutes(replace(INFANT, amblyopic_eye_status=OpticalStatus.PHAKIC, age_at_surgery_months=None)) is None


def test_before_the_fall_at_eight_months_the_family_is_to_be_told() -> None:
    at_seven, at_six = (propose(replace(INFANT, age_months=m)) for m in (7, 6))
    assert isinstance(at_seven, Proposal) and isinstance(at_six, Proposal)
    assert len(at_seven.cautions) == len(at_six.cautions) + 1
    after = minutes(replace(INFANT, age_months=8))
    assert after is not None and after < 7 * 60, "the published fall is not smoothed"


@pytest.mark.parametrize(("line", "dose"), [("0.2", None), ("0.3", 120), ("0.6", 120), ("0.64", 120), ("0.66", 360), ("0.7", 360), ("1.3", 360), ("1.4", None)])
def test_the_trials_bands_in_chart_steps(line: str, dose: int | None) -> None:
    assert minutes(replace(CHILD, amblyopic_acuity=read_acuity(f"{line} logMAR"))) == dose


@pytest.mark.parametrize(("age", "inside"), [(35, False), (36, True), (83, True), (84, True), (215, True), (216, False)])
def test_the_trials_by_age(age: int, inside: bool) -> None:
    assert (minutes(replace(CHILD, age_months=age, refractive_adaptation_weeks=18)) is not None) is inside


def test_glasses_first_for_sixteen_weeks() -> None:
    early, done = (propose(replace(CHILD, refractive_adaptation_weeks=w)) for w in (15.9, 16))
    assert isinstance(early, Proposal) and isinstance(done, Proposal)
    assert (early.minutes_per_day, early.phase) == (0, Phase.REFRACTIVE_ADAPTATION)
    assert (done.minutes_per_day, done.phase) == (120, Phase.OCCLUSION)
    assert minutes(replace(CHILD, refractive_adaptation_weeks=None, glasses_needed=False)) == 120


def test_deprivation_never_waits_for_glasses() -> None:
    assert minutes(replace(INFANT, refractive_adaptation_weeks=0)) == 300


@pytest.mark.parametrize(
    "changed",
    [
        {"aetiology": Aetiology.AMETROPIC},
        {"amblyopic_eye_status": OpticalStatus.APHAKIC},
        {"fellow_eye_status": OpticalStatus.PSEUDOPHAKIC},
        {"amblyopic_acuity": read_acuity("4.8 cpd")},
        {"fellow_acuity": read_acuity("12 cpd")},
        {"amblyopic_acuity": read_acuity("CF")},
        {"fellow_acuity": read_acuity("20/63")},
        {"amblyopic_acuity": read_acuity("20/40"), "fellow_acuity": read_acuity("20/100")},
    ],
)
def test_outside_the_trials_children_there_is_no_published_dose(changed: dict[str, object]) -> None:
    found = propose(replace(CHILD, **changed))  # type: ignore[arg-type]
    assert isinstance(found, NoPublishedDose) and found.reason.text


@pytest.mark.parametrize(
    ("facts", "field"),
    [
        (replace(INFANT, age_months=-1), "age_months"),
        (replace(INFANT, age_at_surgery_months=6), "age_at_surgery_months"),
        (replace(INFANT, age_at_surgery_months=None), "age_at_surgery_months"),
        (replace(INFANT, waking_hours=25), "waking_hours"),
        (replace(CHILD, amblyopic_acuity=None), "amblyopic_acuity"),
        (replace(CHILD, fellow_acuity=None), "fellow_acuity"),
        (replace(CHILD, refractive_adaptation_weeks=None), "refractive_adaptation_weeks"),
        (replace(CHILD, refractive_adaptation_weeks=-1), "refractive_adaptation_weeks"),
    ],
)
def test_a_missing_or_impossible_fact_is_named(facts: OcclusionFacts, field: str) -> None:
    assert refused_field(facts) == field


ACUITIES = st.none() | st.sampled_from([read_acuity(t) for t in ("20/20", "20/25", "20/40", "20/80", "20/100", "20/400", "20/500", "3 cpd", "CF", "LP")])
FACTS = st.builds(
    OcclusionFacts,
    st.integers(0, 300),
    st.sampled_from(Aetiology),
    st.sampled_from(OpticalStatus),
    st.sampled_from(OpticalStatus),
    st.none() | st.integers(0, 60),
    ACUITIES,
    ACUITIES,
    st.none() | st.floats(0, 60),
    st.booleans(),
    st.none() | st.floats(4, 20),
)


ODD_NUMBERS = st.floats(allow_nan=True, allow_infinity=True) | st.integers(-5, 100)
ANYTHING = st.builds(
    replace,
    FACTS,
    age_months=st.integers(-10, 2000),
    age_at_surgery_months=st.none() | st.integers(-10, 2000),
    refractive_adaptation_weeks=st.none() | ODD_NUMBERS,
    waking_hours=st.none() | ODD_NUMBERS,
)


@given(ANYTHING)
def test_whatever_is_asked_the_only_error_names_one_of_the_facts(facts: OcclusionFacts) -> None:
    field = None
    try:
        found: object = propose(facts)
    except ClinicalInputError as refused:
        found, field = refused.message, refused.field
    check(found)
    assert field is None or field in vars(facts)


@given(FACTS)
def test_every_answer_is_a_dose_with_source_and_cautions_a_reason_or_a_named_fact(facts: OcclusionFacts) -> None:
    try:
        found = propose(facts)
    except ClinicalInputError as refused:
        check(refused.message)
        return
    if isinstance(found, NoPublishedDose):
        check(found.reason)
        return
    assert 0 <= found.minutes_per_day <= 600 and found.review_in_weeks > 0 and found.cautions
    assert found.finding.sources and found.finding.status in Status and found.finding.working
    check(found)


@given(st.dates(date(2024, 1, 1), date(2026, 12, 31)), st.integers(31, 1900), st.integers(1, 180))
def test_a_plans_steps_are_the_rule_of_each_day(born_on: date, days_old: int, length: int) -> None:
    """Day by day against the rule itself; the share of waking hours is the one exception, held from its first day on."""
    start_on = born_on + timedelta(days=days_old)
    review_on = start_on + timedelta(days=length)
    facts = replace(INFANT, age_months=completed_months(born_on, start_on), age_at_surgery_months=1)
    if isinstance(propose(facts), NoPublishedDose):
        with pytest.raises(ClinicalInputError):
            dated_doses(facts, born_on, start_on, review_on)
        return
    steps = dated_doses(facts, born_on, start_on, review_on)
    assert steps[0].from_on == start_on and all(a.from_on < b.from_on < review_on for a, b in pairwise(steps))
    assert all(a.minutes != b.minutes for a, b in pairwise(steps))
    held = None
    for day in (start_on + timedelta(days=n) for n in range(length)):
        planned = next(s.minutes for s in reversed(steps) if s.from_on <= day)
        found = propose(replace(facts, age_months=completed_months(born_on, day)))
        if isinstance(found, NoPublishedDose):
            assert planned == 0
        elif found.rule == "infant-half-of-waking-hours":
            held = planned if held is None else held
            assert planned == held
        else:
            assert planned == found.minutes_per_day


def test_a_plan_over_eight_months_rises_then_falls_and_over_five_years_ends() -> None:
    born_on = date(2025, 7, 20)
    steps = dated_doses(replace(INFANT, age_months=6), born_on, date(2026, 2, 1), date(2026, 5, 30))
    assert [(s.from_on, s.minutes) for s in steps] == [(date(2026, 2, 1), 360), (month_on(born_on, 7), 420), (month_on(born_on, 8), 330)]
    old = dated_doses(replace(INFANT, age_months=59), date(2021, 3, 10), date(2026, 2, 20), date(2026, 3, 30))
    assert [s.minutes == 0 for s in old] == [False, True] and old[1].from_on == date(2026, 3, 10)


def texts(facts: OcclusionFacts) -> str:
    found = propose(facts)
    assert isinstance(found, Proposal)
    return " ".join(c.text for c in found.cautions)


@pytest.mark.parametrize(("age", "weeks"), [(11, 4), (12, 8)])
def test_an_infant_is_seen_monthly_in_the_first_year_and_every_second_month_later(age: int, weeks: int) -> None:
    found = propose(replace(INFANT, age_months=age))
    assert isinstance(found, Proposal) and found.review_in_weeks == weeks


@pytest.mark.parametrize(("age", "less", "teenager"), [(83, False, False), (84, True, False), (155, True, False), (156, True, True)])
def test_an_older_child_is_told_that_less_may_come_of_it(age: int, less: bool, teenager: bool) -> None:
    said = texts(replace(CHILD, age_months=age))
    assert ("responded less" in said, "At 13 to 17 years" in said) == (less, teenager)


@pytest.mark.parametrize(
    ("amblyopic", "fellow", "small", "second_cause"),
    [("20/63", "20/32", False, False), ("20/63", "20/40", True, False), ("20/100", "20/50", False, True), ("20/63", "20/50", True, True)],
)
def test_what_the_trials_usually_asked_for_is_said_where_it_is_not_met(amblyopic: str, fellow: str, small: bool, second_cause: bool) -> None:
    said = texts(replace(CHILD, amblyopic_acuity=read_acuity(amblyopic), fellow_acuity=read_acuity(fellow)))
    assert ("usually took children from" in said, "second cause" in said) == (small, second_cause)


def test_the_share_of_waking_hours_is_held_though_the_rule_would_rise_with_age() -> None:
    born_on, start_on = date(2025, 1, 10), date(2026, 1, 10)
    steps = dated_doses(replace(INFANT, age_months=12), born_on, start_on, date(2026, 6, 10))
    assert [s.from_on for s in steps] == [start_on]
    later = minutes(replace(INFANT, age_months=16))
    assert later is not None and later > steps[0].minutes


def test_a_trial_dose_is_one_step() -> None:
    steps = dated_doses(CHILD, date(2021, 1, 10), date(2026, 1, 10), date(2026, 6, 10))
    assert [(s.from_on, s.minutes) for s in steps] == [(date(2026, 1, 10), 120)]
