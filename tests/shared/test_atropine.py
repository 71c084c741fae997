"""Atropine: published schedules alone, by age and band, and the child whom nobody should blur."""

from dataclasses import replace
from datetime import date

import pytest

from shared.sight.acuity import read_acuity
from shared.treatment.atropine import CAUTIONS, ROWS, ends_by, finding, schedules, second_look
from shared.treatment.dose import NoPublishedDose, OcclusionFacts
from shared.treatment.protocol_words import Pattern
from shared.vocabulary import Aetiology, OpticalStatus, Status
from tests.shared.messages import check

CHILD = OcclusionFacts(60, Aetiology.STRABISMIC, OpticalStatus.PHAKIC, OpticalStatus.PHAKIC, None, read_acuity("20/63"), read_acuity("20/20"))


def offered(**changed: object) -> set[str]:
    found = schedules(replace(CHILD, **changed))  # type: ignore[arg-type]
    check(found)
    return set() if isinstance(found, NoPublishedDose) else {row.rule for row in found}


@pytest.mark.parametrize(
    ("months", "line", "rules"),
    [
        # ATS1 20/40-20/100 daily, ATS8 20/40-20/100 weekend, ATS9 7-12 y; severe series 20/125-20/400 (occlusion trials as cited in each row)
        (35, "20/63", set()),
        (36, "20/40", {"atropine-daily", "atropine-weekend"}),
        (83, "20/100", {"atropine-daily", "atropine-weekend"}),
        (60, "20/32", set()),
        (60, "20/125", {"atropine-weekend-severe"}),
        (83, "20/400", {"atropine-weekend-severe"}),
        (60, "20/500", set()),
        (84, "20/63", {"atropine-weekend-at-7-to-12"}),
        (155, "20/100", {"atropine-weekend-at-7-to-12"}),
        (155, "20/125", {"atropine-weekend-severe-at-7-to-12"}),
        (156, "20/63", set()),
    ],
)
def test_the_schedules_by_age_and_band(months: int, line: str, rules: set[str]) -> None:
    assert offered(age_months=months, amblyopic_acuity=read_acuity(line)) == rules


@pytest.mark.parametrize(
    "changed",
    [
        {"amblyopic_eye_status": OpticalStatus.ABSENT},
        {"fellow_eye_status": OpticalStatus.ABSENT},
        {"amblyopic_eye_status": OpticalStatus.APHAKIC},
        {"fellow_eye_status": OpticalStatus.PSEUDOPHAKIC},
        {"aetiology": Aetiology.DEPRIVATION},
        {"aetiology": Aetiology.AMETROPIC},
        {"amblyopic_acuity": read_acuity("CF")},
        {"amblyopic_acuity": read_acuity("no light perception")},
    ],
)
def test_whom_no_trial_took_is_offered_none(changed: dict[str, object]) -> None:
    assert offered(**changed) == set()


@pytest.mark.parametrize(("typed", "asked"), [("20/40", False), ("20/100", False), ("20/125", True), ("20/400", True), (None, True), ("4 cpd", True)])
def test_where_the_child_would_depend_on_an_eye_that_sees_little_it_is_asked_twice(typed: str | None, asked: bool) -> None:
    found = second_look(replace(CHILD, amblyopic_acuity=read_acuity(typed) if typed else None))
    check(found)
    assert (found is not None) is asked


@pytest.mark.parametrize(("months", "said"), [(35, "published under"), (156, "goes beyond")])
def test_outside_the_ages_of_the_trials_that_is_the_reason(months: int, said: str) -> None:
    found = schedules(replace(CHILD, age_months=months))
    assert isinstance(found, NoPublishedDose) and said in found.reason.text


def test_an_eye_not_yet_measured_is_offered_every_schedule_of_its_age() -> None:
    assert offered(amblyopic_acuity=None) == {"atropine-daily", "atropine-weekend", "atropine-weekend-severe"}


def test_a_plan_runs_no_longer_than_its_trial() -> None:
    by = {row.rule: ends_by(row, date(2026, 3, 2)) for row in ROWS}
    assert by["atropine-daily"] == date(2026, 9, 2), "ATS1: six months"
    assert by["atropine-weekend"] == date(2026, 7, 6), "ATS8: 18 weeks"
    assert by["atropine-weekend-at-7-to-12"] == date(2026, 6, 29), "ATS9: 17 weeks"


def test_every_schedule_says_how_well_it_is_known_and_comes_with_cautions() -> None:
    for row in ROWS:
        check(finding(row))
        assert row.review(60) is not None
        assert (row.pattern is Pattern.DAILY) is (row.rule == "atropine-daily")
        assert (finding(row).status is Status.MEMORY) is (row.pattern is Pattern.WEEKEND), "the strength of the weekend's drop is from memory"
    check(CAUTIONS)
    said = " ".join(c.text for c in CAUTIONS)
    assert all(word in said for word in ("fever", "bright light", "out of children's reach"))
