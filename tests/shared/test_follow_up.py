"""Prompts around the dose (common practice throughout; the trade's rules, no source)."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.course.follow_up import amblyopic_eye_unsaid, aphakic_uncorrected, lenses_exchanged, near_added_twice, not_brought, observation, observation_dates
from shared.course.review_facts import ChangedEye, NearInForce, ReviewFacts
from shared.findings import Weight
from shared.optics.aphakia import segment_advice, spectacles
from shared.optics.exchange import looks_like_exchanged_lenses
from shared.optics.refraction import SpheroCylinder
from shared.sight.acuity import read_acuity
from shared.vocabulary import Aetiology, Laterality

powers = st.floats(-20, 20)


def facts(today: date = date(2026, 3, 2), **more) -> ReviewFacts:
    return ReviewFacts(today, Aetiology.STRABISMIC, None, (), (), None, 0, 0, None, False, None, None, None, **more)


@pytest.mark.parametrize(("right", "left", "asks"), [(3.0, -2.75, True), (-1.0, 1.5, True), (3.0, 3.0, False), (0.5, -0.5, False), (3.0, -2.0, False)])
def test_equal_and_opposite_over_refractions_are_asked_about(right: float, left: float, asks: bool) -> None:
    assert bool(list(lenses_exchanged(facts(over_refractions=(right, left))))) is asks


@given(powers, powers)
def test_the_question_is_the_same_for_either_eye(right: float, left: float) -> None:
    assert looks_like_exchanged_lenses(right, left) is looks_like_exchanged_lenses(left, right) is looks_like_exchanged_lenses(-right, -left)


def test_near_in_the_lens_and_in_the_glasses_is_named_for_that_eye() -> None:
    found = list(near_added_twice(facts(near=(NearInForce(Laterality.LEFT, 2.0, 2.5), NearInForce(Laterality.RIGHT, 2.0, 0.0)))))
    assert [f.message.params["eye"] for f in found] == [Laterality.LEFT]


def test_the_year_after_stopping_is_dated_by_the_calendar() -> None:
    stopped = date(2025, 11, 30)
    assert observation_dates(stopped) == (date(2026, 2, 28), date(2026, 5, 30), date(2026, 11, 30))
    due = [next((f.message.params["due"] for f in observation(facts(on, stopped_on=stopped))), None) for on in (stopped, date(2026, 3, 1), date(2026, 11, 30))]
    assert due == [date(2026, 2, 28), date(2026, 5, 30), date(2026, 11, 30)]
    assert list(observation(facts(date(2026, 12, 1), stopped_on=stopped))) == [] == list(observation(facts()))


@given(st.floats(5, 20), st.floats(0.5, 4))
def test_a_bifocal_leaves_its_distance_part_alone(power: float, near: float) -> None:
    one, two = (spectacles(SpheroCylinder(power), 12.0, near, 0.25, bifocal=bifocal) for bifocal in (False, True))
    assert two.exact == one.exact_distance and two.addition == near and one.addition == 0.0
    assert one.exact.sphere == pytest.approx(two.exact.sphere + near)


def test_where_a_childs_segment_begins() -> None:
    # "top bisects the pupil, or at most 1-2 mm below" (leaflet for families, as read)
    assert segment_advice().value is not None and segment_advice().value.value == 2.0


@pytest.mark.parametrize(("booked_on", "weight"), [(None, Weight.ACT), (date(2026, 3, 9), Weight.CHECK)])
def test_a_child_that_was_not_brought_is_named_until_it_is_seen(booked_on: date | None, weight: Weight) -> None:
    (found,) = not_brought(facts(not_brought_on=date(2026, 2, 27), booked_on=booked_on))
    assert found.weight is weight and found.message.params["on"] == date(2026, 2, 27)
    assert not list(not_brought(facts(booked_on=booked_on)))


def test_an_aphakic_eye_without_a_correction_is_named_once() -> None:
    bare = facts(uncorrected_aphakic=(Laterality.LEFT,))
    assert [f.message.params["eye"] for f in aphakic_uncorrected(bare)] == [Laterality.LEFT]
    after_operation = facts(uncorrected_aphakic=(Laterality.LEFT,), changed_eyes=(ChangedEye(Laterality.LEFT, date(2026, 2, 20), True, False),))
    assert not list(aphakic_uncorrected(after_operation)), "the operation's own finding says it"


@pytest.mark.parametrize(
    ("right", "left", "worse"), [("20/20", "20/32", Laterality.LEFT), ("20/40", "20/25", Laterality.RIGHT), ("20/20", "20/25", None), ("4 cpd", "2 cpd", None)]
)
def test_eyes_that_differ_want_the_amblyopic_one_named(right: str, left: str, worse: Laterality | None) -> None:
    found = list(amblyopic_eye_unsaid(facts(unsaid_pair=(read_acuity(right), read_acuity(left)))))
    assert [f.message.params["eye"] for f in found] == ([worse] if worse else [])
