"""The published rules as rows: each whole and reachable, what stands beside a proposal, and the bands by name."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.errors import ClinicalInputError
from shared.sight.acuity import read_acuity
from shared.sources import source
from shared.treatment import atropine
from shared.treatment.alternative_rows import ALTERNATIVES
from shared.treatment.dose import NoPublishedDose, OcclusionFacts, Proposal
from shared.treatment.ladder import alternatives, ladder
from shared.treatment.occlusion import propose
from shared.treatment.protocol import Basis, Use
from shared.treatment.protocol_rows import ROWS, particulars, row
from shared.treatment.protocol_words import Pattern
from shared.treatment.taper import taper
from shared.vocabulary import Aetiology, OpticalStatus, Phase, Status
from tests.shared.messages import check

INFANT = OcclusionFacts(5, Aetiology.DEPRIVATION, OpticalStatus.APHAKIC, OpticalStatus.PHAKIC, 2)
CHILD = OcclusionFacts(60, Aetiology.ANISOMETROPIC, OpticalStatus.PHAKIC, OpticalStatus.PHAKIC, None, read_acuity("20/63"), read_acuity("20/20"), 18)
SEVERE = replace(CHILD, amblyopic_acuity=read_acuity("20/200"))
EVERY = (*ROWS, *ALTERNATIVES, *atropine.ROWS)


def proposed(facts: OcclusionFacts) -> Proposal:
    found = propose(facts)
    assert isinstance(found, Proposal)
    return found


def beside(facts: OcclusionFacts) -> dict[str, int | None]:
    return {a.row.rule: a.minutes for a in alternatives(facts, proposed(facts))}


@pytest.mark.parametrize("each", EVERY, ids=lambda r: r.rule)
def test_every_row_is_whole(each: object) -> None:
    check(each)
    assert each in EVERY
    r = next(one for one in EVERY if one is each)
    assert r.from_month < r.below_month and r.sources and r.first
    assert all(source(key).citation for key in r.sources)
    assert list(Status).index(r.status) >= max(list(Status).index(source(key).status) for key in r.sources)
    assert all(row(rule) for rule in (r.next_step, r.before_stopping) if rule)


def test_each_rule_has_one_row() -> None:
    assert len({r.rule for r in EVERY}) == len(EVERY)


def test_no_child_fits_two_starts() -> None:
    """A line of a chart and a month of age lead to one row at most."""
    starts = [r for r in ROWS if r.use is Use.START and r.phase is Phase.OCCLUSION]
    for cause in Aetiology:
        for months in range(230):
            for line in range(-3, 16):
                assert sum(r.takes(cause, months, line / 10) for r in starts) <= 1


def test_full_time_and_other_alternatives_are_never_the_proposal() -> None:
    shown = {r.rule for r in EVERY if r.use is Use.ALTERNATIVE}
    for months in range(36, 216, 6):
        for line in range(3, 14):
            assert proposed(replace(CHILD, age_months=months, amblyopic_acuity=read_acuity(f"{line / 10:.1f} logMAR"))).rule not in shown


@pytest.mark.parametrize(
    ("facts", "rule"),
    [
        (INFANT, "infant-by-completed-month"),
        (replace(INFANT, age_months=8), "infant-half-of-waking-hours"),
        (CHILD, "moderate-two-hours"),
        (SEVERE, "severe-six-hours"),
        (replace(CHILD, age_months=84), "moderate-two-hours-at-7-to-12"),
        (replace(SEVERE, age_months=155), "severe-six-hours-at-7-to-12"),
        (replace(CHILD, age_months=156), "moderate-two-hours-at-13-to-17"),
        (replace(SEVERE, age_months=215), "severe-six-hours-at-13-to-17"),
        (replace(CHILD, refractive_adaptation_weeks=3), "refractive-adaptation-first"),
    ],
)
def test_every_answer_names_its_row(facts: OcclusionFacts, rule: str) -> None:
    found = proposed(facts)
    assert (found.rule, found.finding.rule, found.row) == (rule, rule, row(rule))


def test_the_ladder_of_the_trials_has_the_bands_and_marks_the_childs_own() -> None:
    assert [(r.minutes, r.chosen) for r in ladder(CHILD, proposed(CHILD))] == [(120, True), (360, False)]
    assert [(r.minutes, r.chosen) for r in ladder(SEVERE, proposed(SEVERE))] == [(120, False), (360, True)]
    adapting = replace(CHILD, refractive_adaptation_weeks=0)
    assert ladder(adapting, proposed(adapting)) == ()


def test_the_ladder_of_an_infant_is_the_month_before_and_the_month_after() -> None:
    seven = replace(INFANT, age_months=7)
    assert [r.minutes for r in ladder(seven, proposed(seven))] == [360, 420, 330]
    oldest, youngest = replace(INFANT, age_months=59), replace(INFANT, age_months=1, age_at_surgery_months=1)
    assert [r.row is None for r in ladder(oldest, proposed(oldest))] == [False, False, True]
    assert [r.row is None for r in ladder(youngest, proposed(youngest))] == [True, False, False]


def test_the_alternatives_are_those_of_the_childs_own_trials() -> None:
    assert beside(CHILD) == {"ten-hours-on-six-days": 600, "atropine-daily": None, "atropine-weekend": None}
    # Galland: 13.49 waking hours at five years, all of them
    assert beside(SEVERE) == {"severe-two-hours": 120, "severe-full-time": 810, "ten-hours-on-six-days": 600, "atropine-weekend-severe": None}
    assert beside(INFANT) == {}
    assert beside(replace(INFANT, age_months=10, waking_hours=11)) == {"infant-alternate-days": 660}
    assert beside(replace(CHILD, refractive_adaptation_weeks=4)) == {"ten-hours-on-six-days": 600}
    near = replace(CHILD, fellow_acuity=read_acuity("20/40"))
    assert "ten-hours-on-six-days" not in beside(near), "its children differed by three lines or more"
    assert "ten-hours-on-six-days" not in beside(replace(CHILD, age_months=108))


def test_full_time_is_seen_after_a_week_per_year_of_age_which_is_from_memory() -> None:
    full = next(r for r in ALTERNATIVES if r.rule == "severe-full-time")
    assert [full.review_weeks(months) for months in (36, 59, 60, 83)] == [3, 4, 4, 4]
    assert full.review(36) is not None and full.status is Status.MEMORY


def test_a_share_of_waking_hours_that_are_not_known_is_no_number() -> None:
    half = row("infant-half-of-waking-hours")
    assert half.basis is Basis.SHARE_OF_WAKING and half.hours(10, None) is None and half.hours(10, 11.0) == 5.5
    assert row("infant-by-completed-month").hours(6, None) == 6.0 and row("bilateral-glasses-alone").hours(60, 13.0) is None


@given(st.integers(0, 300), st.sampled_from(Aetiology), st.sampled_from(["20/40", "20/63", "20/100", "20/400", "CF", "3 cpd"]), st.floats(0, 60))
def test_whatever_stands_beside_a_proposal_is_whole(months: int, cause: Aetiology, typed: str, weeks: float) -> None:
    infant = cause is Aetiology.DEPRIVATION
    status = OpticalStatus.APHAKIC if infant else OpticalStatus.PHAKIC
    facts = replace(
        CHILD,
        age_months=months,
        aetiology=cause,
        amblyopic_eye_status=status,
        age_at_surgery_months=min(months, 2) if infant else None,
        amblyopic_acuity=read_acuity(typed),
        refractive_adaptation_weeks=min(weeks, months * 4.5),
    )
    found = propose(facts)
    if isinstance(found, Proposal):
        rungs, others = ladder(facts, found), alternatives(facts, found)
        check((rungs, others))
        assert sum(r.chosen for r in rungs) == (1 if found.phase is Phase.OCCLUSION else 0)
        assert all(a.minutes is None or 0 < a.minutes <= 960 for a in others)
        assert all(a.row.pattern in Pattern and a.row.rule != found.rule for a in others)


@pytest.mark.parametrize(("hours", "months", "step"), [(6, 72, 2.0), (24, 36, 2.0), (5.99, 72, None), (6, 95, 2.0), (6, 96, None)])
def test_the_step_down_is_for_six_hours_and_more_and_for_children_under_eight(hours: float, months: int, step: float | None) -> None:
    # ATS2C, J AAPOS 2004;8:420-8: under 8 years, from 6 to 8 h a day, 42 % against 14 %
    found = taper(hours, months)
    check(found)
    assert (None if isinstance(found, NoPublishedDose) else found.step.value) == step
    if not isinstance(found, NoPublishedDose):
        assert (found.lost_abrupt.value, found.lost_tapered.value, found.watched.value) == (42, 14, 52)


@pytest.mark.parametrize(
    ("hours", "months", "field"), [(0, 72, "hours_per_day"), (25, 72, "hours_per_day"), (float("nan"), 72, "hours_per_day"), (6, -1, "age_months")]
)
def test_hours_no_day_has_are_refused(hours: float, months: int, field: str) -> None:
    with pytest.raises(ClinicalInputError) as refused:
        taper(hours, months)
    assert refused.value.field == field


def test_the_particulars_of_a_row_follow_the_course() -> None:
    found = particulars(row("severe-six-hours"))
    check(found)
    heads = ("First", "First", "First", "Near work", "Before stopping", "The end", "The most that its trials gave")
    assert all(m.text.startswith(head) for m, head in zip(found, heads, strict=True))
