"""Signed revisions: what cannot be signed, and which minutes hold on a day."""

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from schedules.regimen import Drops, Regimen, drop_due, in_force, plan_endings, prescribed_minutes
from shared.errors import ClinicalInputError
from shared.treatment.dose import DatedDose
from shared.treatment.protocol_words import Pattern
from shared.vocabulary import Laterality, MissingCorrectionRule, Phase

MONDAY = date(2026, 3, 2)


def day(n: int) -> date:
    return MONDAY + timedelta(days=n)


def occlusion(number: int = 1, start: int = 0, review: int = 28, *steps: tuple[int, int]) -> Regimen:
    """An occlusion revision; `steps` are (day, minutes), by default two hours from the start."""
    doses = tuple(DatedDose(day(on), minutes) for on, minutes in steps or ((start, 120),))
    return Regimen(number, Phase.OCCLUSION, day(start), day(review), Laterality.LEFT, doses, MissingCorrectionRule.HOLD_AND_RING)


def without_doses(number: int, phase: Phase, start: int, review: int | None) -> Regimen:
    drops = Drops(Laterality.LEFT, Pattern.WEEKEND) if phase is Phase.ATROPINE else None
    return Regimen(number, phase, day(start), None if review is None else day(review), None, (), MissingCorrectionRule.GO_ON, drops)


@pytest.mark.parametrize(
    ("field", "change"),
    [
        ("review_on", {"review_on": MONDAY}),
        ("review_on", {"review_on": day(-1)}),
        ("review_on", {"review_on": day(26 * 7 + 1)}),
        ("review_on", {"review_on": None}),
        ("covered_eye", {"covered_eye": None}),
        ("doses", {"doses": ()}),
        ("doses", {"doses": (DatedDose(day(1), 120),)}),
        ("doses", {"doses": (DatedDose(day(0), 120), DatedDose(day(0), 150))}),
        ("doses", {"doses": (DatedDose(day(0), 120), DatedDose(day(9), 150), DatedDose(day(3), 180))}),
        ("doses", {"doses": (DatedDose(day(0), 120), DatedDose(day(28), 150))}),
        ("minutes", {"doses": (DatedDose(day(0), 25 * 60),)}),
        ("minutes", {"doses": (DatedDose(day(0), 16 * 60 + 1),)}),
        ("minutes", {"doses": (DatedDose(day(0), -1),)}),
        ("covered_eye", {"phase": Phase.PAUSE, "doses": ()}),
        ("drop_eye", {"drops": Drops(Laterality.LEFT, Pattern.DAILY)}),
        ("drop_eye", {"phase": Phase.ATROPINE, "covered_eye": None, "doses": ()}),
        ("doses", {"phase": Phase.ATROPINE, "covered_eye": None, "drops": Drops(Laterality.LEFT, Pattern.DAILY)}),
        ("doses", {"phase": Phase.PAUSE, "covered_eye": None}),
        ("doses", {"phase": Phase.REFRACTIVE_ADAPTATION, "covered_eye": None}),
        ("grace_days", {"grace_days": 15}),
        ("grace_days", {"grace_days": -1}),
        ("grace_days", {"phase": Phase.PAUSE, "covered_eye": None, "doses": (), "grace_days": 1}),
        ("doses", {"doses": (DatedDose(day(0), 120), DatedDose(day(35), 150)), "grace_days": 7}),
        ("turn_days", {"turn_days": 7}),
        ("turn_days", {"phase": Phase.REFRACTIVE_ADAPTATION, "covered_eye": None, "doses": (), "turn_days": 1}),
        ("review_on", {"phase": Phase.STOP, "covered_eye": None, "doses": ()}),
        ("review_on", {"phase": Phase.PAUSE, "covered_eye": None, "doses": (), "review_on": None}),
        ("review_on", {"phase": Phase.REFRACTIVE_ADAPTATION, "covered_eye": None, "doses": (), "review_on": None}),
    ],
)
def test_what_cannot_be_signed_names_its_field(field: str, change: dict[str, object]) -> None:
    with pytest.raises(ClinicalInputError) as refused:
        replace(occlusion(), **change)  # type: ignore[arg-type]
    assert refused.value.field == field


def test_the_limits_themselves_can_be_signed() -> None:
    assert occlusion(1, 0, 26 * 7, (0, 16 * 60)).minutes_on(day(26 * 7 - 1)) == 960
    assert without_doses(1, Phase.STOP, 0, None).review_on is None


def test_a_rising_dose_holds_each_step_until_the_next_and_nothing_from_the_review() -> None:
    rising = occlusion(1, 0, 28, (0, 60), (7, 90), (14, 0), (15, 120))
    assert [rising.minutes_on(day(n)) for n in (-1, 0, 6, 7, 13, 14, 15, 27, 28)] == [0, 60, 60, 90, 90, 0, 120, 120, 0]


def test_an_ended_plan_is_not_replaced_by_an_older_one_still_running() -> None:
    older, newer = occlusion(1, 0, 100), occlusion(2, 10, 20, (10, 60))
    assert [prescribed_minutes([older, newer], day(n)) for n in (9, 10, 19, 20, 50)] == [120, 60, 60, 0, 0]
    assert in_force([older, newer], day(20)) is None


def test_a_later_signature_with_an_earlier_start_also_supersedes_what_had_not_begun() -> None:
    planned, instead = occlusion(2, 14, 28, (14, 240)), occlusion(3, 7, 21, (7, 60))
    assert [prescribed_minutes([occlusion(), planned, instead], day(n)) for n in (6, 7, 14, 20, 21)] == [120, 60, 60, 60, 0]


@pytest.mark.parametrize("phase", [Phase.PAUSE, Phase.STOP])
def test_a_pause_or_stop_ends_the_hours_on_its_own_day(phase: Phase) -> None:
    revisions = [occlusion(), without_doses(2, phase, 5, 28 if phase is Phase.PAUSE else None)]
    assert [prescribed_minutes(revisions, day(n)) for n in (4, 5, 27)] == [120, 0, 0]
    held = in_force(revisions, day(5))
    assert held is not None
    assert held.phase is phase


def test_the_plan_ends_where_nothing_follows() -> None:
    first, second = occlusion(1, 0, 28), occlusion(2, 28, 60, (28, 60))
    assert plan_endings([first]) == (day(28),)
    assert plan_endings([first, second]) == (day(60),)
    assert plan_endings([first, without_doses(2, Phase.STOP, 10, None)]) == ()
    assert plan_endings([first, occlusion(2, 35, 60, (35, 60))]) == (day(28), day(60))


@st.composite
def histories(draw: st.DrawFn) -> list[Regimen]:
    """Up to five revisions in the order of their signatures, starting and ending anywhere."""
    made = []
    for number in range(1, draw(st.integers(1, 5)) + 1):
        start, length = draw(st.integers(0, 60)), draw(st.integers(1, 60))
        phase = draw(st.sampled_from(Phase))
        if phase is Phase.OCCLUSION:
            steps = draw(st.dictionaries(st.integers(1, length), st.integers(0, 960), max_size=3))
            dated = [(start, draw(st.integers(0, 960)))] + [(start + n, m) for n, m in sorted(steps.items()) if n < length]
            made.append(occlusion(number, start, start + length, *dated))
        else:
            made.append(without_doses(number, phase, start, None if phase is Phase.STOP else start + length))
    return made


@given(histories(), st.integers(-5, 130))
def test_no_day_shows_more_than_the_newest_revision_begun_by_then_signed(history: list[Regimen], n: int) -> None:
    minutes = prescribed_minutes(history, day(n))
    begun = [r for r in history if r.start_on <= day(n)]
    assert minutes == (begun[-1].minutes_on(day(n)) if begun else 0)
    if begun and begun[-1].review_on and begun[-1].review_on <= day(n):
        assert minutes == 0


@given(histories())
def test_a_new_revision_changes_no_day_before_its_start(history: list[Regimen]) -> None:
    *before, newest = history
    for n in range(-1, (newest.start_on - MONDAY).days):
        assert prescribed_minutes(history, day(n)) == prescribed_minutes(before, day(n))


@given(histories())
def test_the_order_in_which_revisions_are_handed_in_is_of_no_account(history: list[Regimen]) -> None:
    for n in range(0, 125, 7):
        assert in_force(history, day(n)) == in_force(history[::-1], day(n))
    assert plan_endings(history) == plan_endings(history[::-1])


@given(histories())
def test_endings_are_the_days_on_which_the_plan_in_force_runs_out(history: list[Regimen]) -> None:
    walked = [day(n) for n in range(1, 130) if in_force(history, day(n - 1)) and in_force(history, day(n)) is None]
    assert list(plan_endings(history)) == walked


def patterned(pattern: Pattern, *steps: tuple[int, int]) -> Regimen:
    return replace(occlusion(), doses=tuple(DatedDose(day(on), minutes, pattern) for on, minutes in steps))


@pytest.mark.parametrize(
    ("pattern", "off"),
    [
        (Pattern.DAILY, set()),
        (Pattern.SIX_DAYS_A_WEEK, {6, 13, 20, 27}),
        (Pattern.ALTERNATE_DAYS, set(range(1, 28, 2))),
        (Pattern.WEEKEND, {n for n in range(28) if n % 7 < 5}),
    ],
)
def test_a_pattern_leaves_its_days_without_minutes_and_they_are_no_break(pattern: Pattern, off: set[int]) -> None:
    regimen = patterned(pattern, (0, 600))
    assert {n for n in range(28) if not regimen.minutes_on(day(n))} == off == {n for n in range(28) if regimen.off_by_pattern(day(n))}
    assert not any(regimen.resumes(day(n)) for n in range(28)), "nothing comes back: it was never broken off"
    assert not regimen.off_by_pattern(day(-1)) and not regimen.off_by_pattern(day(28))


def test_a_pattern_is_counted_from_the_first_day_of_its_own_dose() -> None:
    regimen = patterned(Pattern.ALTERNATE_DAYS, (0, 600), (5, 300))
    assert [regimen.minutes_on(day(n)) for n in range(9)] == [600, 0, 600, 0, 600, 300, 0, 300, 0]


def test_a_day_of_a_break_is_not_off_by_pattern() -> None:
    broken = patterned(Pattern.SIX_DAYS_A_WEEK, (0, 600), (3, 0), (10, 600))
    assert not broken.off_by_pattern(day(9)) and broken.resumes(day(9)) == DatedDose(day(10), 600, Pattern.SIX_DAYS_A_WEEK)


def test_drops_fall_on_their_days_have_no_minutes_and_end_like_every_plan() -> None:
    weekend = without_doses(1, Phase.ATROPINE, 0, 28)
    assert [n for n in range(-7, 40) if weekend.drop_on(day(n))] == [5, 6, 12, 13, 19, 20, 26, 27]
    assert not any(prescribed_minutes([weekend], day(n)) for n in range(40)) and plan_endings([weekend]) == (day(28),)
    stopped = [weekend, without_doses(2, Phase.STOP, 10, None)]
    assert [n for n in range(40) if drop_due(stopped, day(n))] == [5, 6]


def test_a_signed_grace_carries_the_plan_past_its_review_and_no_further() -> None:
    late = replace(occlusion(), grace_days=7)
    assert [late.minutes_on(day(n)) for n in (27, 28, 34, 35)] == [120, 120, 120, 0]
    assert [late.in_grace(day(n)) for n in (27, 28, 34, 35)] == [False, True, True, False]
    assert late.review_on == day(28) and plan_endings([late]) == (day(35),)
    seen = [late, occlusion(2, 30, 60)]
    assert [prescribed_minutes(seen, day(n)) for n in (29, 30, 59, 60)] == [120, 120, 120, 0] and plan_endings(seen) == (day(60),)


def test_a_dose_may_fall_on_weekdays_of_ones_choice() -> None:
    chosen = replace(occlusion(), doses=(DatedDose(day(0), 120, weekdays=(0, 2, 5)),))
    assert {day(n).strftime("%a") for n in range(28) if chosen.minutes_on(day(n))} == {"Mon", "Wed", "Sat"}
    assert chosen.off_by_pattern(day(1)) and not chosen.doses[0].is_daily


@pytest.mark.parametrize(("weekdays", "pattern"), [((7,), Pattern.DAILY), ((2, 0), Pattern.DAILY), ((1, 1), Pattern.DAILY), ((0,), Pattern.WEEKEND)])
def test_weekdays_that_cannot_be_are_refused(weekdays: tuple[int, ...], pattern: Pattern) -> None:
    with pytest.raises(ClinicalInputError) as refused:
        DatedDose(MONDAY, 120, pattern, weekdays)
    assert refused.value.field == "weekdays"


def covered(regimen: Regimen) -> str:
    """The first letters of the covered eyes, a dot on a day without a patch."""
    found = [regimen.covered_on(day(n)) if regimen.minutes_on(day(n)) else None for n in range(12)]
    return "".join(eye.value[0] if eye else "." for eye in found)


@pytest.mark.parametrize(
    ("turn_days", "dose", "eyes"),
    [
        (0, DatedDose(day(0), 120), "llllllllllll"),
        (1, DatedDose(day(0), 120), "lrlrlrlrlrlr"),
        (3, DatedDose(day(0), 120), "lllrlllrlllr"),
        (1, DatedDose(day(0), 120, Pattern.ALTERNATE_DAYS), "l.r.l.r.l.r."),
        (2, DatedDose(day(0), 120, weekdays=(0, 1, 2, 3, 4)), "llrll..rllrl"),
    ],
)
def test_eyes_that_alternate_take_turns_over_the_days_with_a_patch(turn_days: int, dose: DatedDose, eyes: str) -> None:
    assert covered(replace(occlusion(), turn_days=turn_days, doses=(dose,))) == eyes
