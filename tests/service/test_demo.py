"""The demo's eight children: built on any day, each shows what it is there for."""

from collections.abc import Iterator
from datetime import UTC, date, datetime, time, timedelta

import pytest
from sqlalchemy import Engine

from demo_data.build import SHOWN, STORIES, DemoTokens, build
from service.actions import regimens
from service.clock import local_today
from service.db import open_engine, reading
from service.migrate import migrate
from service.store import children, links
from service.views.case import Case, by_test, load
from service.views.review_facts import review_facts
from shared import review
from shared.dose import NoPublishedDose
from shared.vocabulary import (
    AcuityFamily,
    AcuityMethod,
    Aetiology,
    AmblyopicEye,
    CorrectionKind,
    Laterality,
    Measured,
    OpticalStatus,
    Phase,
    YesNo,
)

DAYS = (date(2028, 2, 29), date(2026, 3, 31), date(2026, 7, 15))  # a leap day, the end of a month, an ordinary day


@pytest.fixture(scope="module", params=DAYS, ids=str)
def built(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Engine, datetime]]:
    now = datetime.combine(request.param, time(20), UTC)
    engine = open_engine(f"sqlite:///{tmp_path_factory.mktemp('demo') / 'demo.db'}")
    migrate(engine)
    build(engine, local_today(now, "Europe/Lisbon"), now, DemoTokens("a key of the tests"))
    yield engine, now
    engine.dispose()


@pytest.fixture(scope="module")
def cases(built: tuple[Engine, datetime]) -> dict[str, Case]:
    engine, now = built
    with reading(engine) as session:
        return {child.short_name: load(session, child, now) for child in children.children(session, 1, "", 50)}


def rules(c: Case) -> set[str]:
    return {finding.rule for finding in review.findings(review_facts(c))}


def settled(c: Case) -> str:
    return review.settle(review_facts(c)).rule


def answer(c: Case) -> regimens.Answer:
    return regimens.answer(c.occlusion_facts(adaptation_weeks=c.weeks_of_glasses, glasses_needed=True, waking_hours=None))


def minutes_today(c: Case) -> int:
    assert c.current is not None and c.current.regimen.phase is Phase.OCCLUSION
    return c.current.regimen.minutes_on(c.today)


def test_eight_children_each_with_a_reference_and_a_name_of_its_own(cases: dict[str, Case]) -> None:
    assert len(cases) == len(STORIES) == 8
    assert len({name[0] for name in cases}) == 8, "names that nobody confuses in a list"
    references = {c.child.reference for c in cases.values()}
    assert len(references) == 8 and all(r.startswith("HM-10") for r in references)


def test_every_aphakic_eye_was_operated_before_seven_months_of_age(cases: dict[str, Case]) -> None:
    operated = [(c.child, s) for c in cases.values() for s in c.child.statuses if s.status is OpticalStatus.APHAKIC]
    assert {(child.short_name, s.eye) for child, s in operated} == {("Juno", Laterality.LEFT), ("Odile", Laterality.RIGHT), ("Odile", Laterality.LEFT)}
    for child, s in operated:
        # Infant Aphakia Treatment Study, Arch Ophthalmol 2010;128:21-7, table 1 as quoted in shared/published: 28 days to under 7 months (< 210 days)
        assert 28 <= (s.since_on - child.born_on).days < 210


def test_findings_stand_at_the_eye_that_they_are_of(cases: dict[str, Case]) -> None:
    assert [f for c in cases.values() for v in c.visits for eye, f in v.eyes.items() if f.eye is not eye] == []
    assert all(v.on <= c.today for c in cases.values() for v in c.visits)


def test_one_operated_eye_has_its_lens_its_hours_and_its_pressure(cases: dict[str, Case]) -> None:
    c = cases["Juno"]
    assert c.age_months == 6
    assert minutes_today(c) == 6 * 60  # one hour a day for each completed month until eight: Drews-Botsch 2012, PMC3336096
    assert settled(c) == "settle-age-rule" and "pressure-due" not in rules(c)
    assert [d.content["eyes"]["left"]["provisional"] for d in c.corrections] == [True, False], "with the stitches in, then without"
    assert any(v.eyes[Laterality.LEFT].lens_movement and v.eyes[Laterality.LEFT].pressure_mmhg for v in c.visits)


def test_two_operated_eyes_have_lenses_and_no_published_dose(cases: dict[str, Case]) -> None:
    c = cases["Odile"]
    right, left = (c.child.surgery_on(eye, c.today) for eye in Laterality)
    assert right is not None and left is not None and left - right >= timedelta(weeks=1)
    assert c.child.amblyopic_eye is AmblyopicEye.NONE
    assert isinstance(answer(c), NoPublishedDose) and not c.regimens
    assert c.corrections and all(d.kind is CorrectionKind.CONTACT_LENS and d.eyes == tuple(Laterality) for d in c.corrections)
    assert {t.method for v in c.visits for t in v.tests} == {AcuityMethod.GRATING_CARDS}
    for eye in Laterality:
        taken = {v.eyes[eye].pressure_measured for v in c.visits if v.eyes[eye].pressure_mmhg is not None and v.eyes[eye].pressure_method}
        assert taken == {Measured.AWAKE, Measured.ANAESTHETISED}
        assert any(v.eyes[eye].axial_length_mm and v.eyes[eye].k1_dioptres for v in c.visits)
    assert not rules(c) & {"pressure-due", "lenses-exchanged", "operated-no-correction"}


def test_the_family_shown_has_two_hours_a_day_until_a_review_in_five_days(built: tuple[Engine, datetime], cases: dict[str, Case]) -> None:
    c = cases["Milo"]
    assert c.child.aetiology is Aetiology.ANISOMETROPIC and minutes_today(c) == 120
    assert c.current is not None and c.current.regimen.review_on == c.today + timedelta(days=5)
    with reading(built[0]) as session:
        subscription = links.subscription_of_feed(session, DemoTokens("a key of the tests").link(SHOWN)[0])
    assert subscription is not None and subscription.child_id == c.child.id


def test_a_strong_difference_of_refraction_has_six_hours(cases: dict[str, Case]) -> None:
    c = cases["Tessa"]
    assert c.child.aetiology is Aetiology.ANISOMETROPIC and minutes_today(c) == 360
    right, left = (f.refraction for f in (c.visits[0].eyes[eye] for eye in Laterality))
    assert right is not None and left is not None and right.spherical_equivalent - left.spherical_equivalent > 4


def test_a_child_moves_from_cards_to_pictures_with_both_on_one_day(cases: dict[str, Case]) -> None:
    c = cases["Kezia"]
    assert c.child.aetiology is Aetiology.STRABISMIC
    for eye in Laterality:
        series = by_test(c.visits, eye)
        assert set(series) == {AcuityMethod.GRATING_CARDS, AcuityMethod.CROWDED_PICTURES} and all(len(readings) >= 2 for readings in series.values())
        assert series[AcuityMethod.GRATING_CARDS][-1][0] == series[AcuityMethod.CROWDED_PICTURES][0][0]
    assert [v.on for v in c.visits if {t.method.family for t in v.tests if t.method} == {AcuityFamily.GRATING, AcuityFamily.OPTOTYPE}] == [c.visits[1].on]
    for v in c.visits:
        assert v.together.cover_near_prism_dioptres and v.together.cover_distance_prism_dioptres
    assert c.visits[-1].together.stereoacuity_arc_seconds
    assert minutes_today(c) == 120 and settled(c) == "settle-continue"


def test_a_child_in_refractive_adaptation_has_glasses_and_no_patch(cases: dict[str, Case]) -> None:
    c = cases["Ari"]
    assert c.current is not None and c.current.regimen.phase is Phase.REFRACTIVE_ADAPTATION
    assert [d.kind for d in c.corrections] == [CorrectionKind.SPECTACLES]
    assert settled(c) == "settle-continue" and "adaptation-done" not in rules(c)


def test_a_dose_that_is_not_worn_is_seen_before_the_dose_is_judged(cases: dict[str, Case]) -> None:
    c = cases["Bram"]
    assert minutes_today(c) == 120
    assert rules(c) & {"wear-low", "wear-not-known"} and settled(c) == "settle-wear-first"
    assert len({e.reason for e in c.entries if e.reason}) >= 3, "the household says why"


def test_a_fellow_eye_two_lines_down_asks_for_a_pause(cases: dict[str, Case]) -> None:
    c = cases["Runar"]
    assert minutes_today(c) == 360
    found = {finding.rule: finding for finding in review.findings(review_facts(c))}
    # 6/6 to 6/9.5 is 20/20 to 20/32: two lines of the chart, at which a preferred practice pattern pauses (AAO 2022, read second-hand)
    assert found["fellow-eye-two-lines"].value is not None and found["fellow-eye-two-lines"].value.value == 2
    assert settled(c) == "settle-pause"
    assert not rules(c) & {"wear-low", "wear-not-known"}, "it was worn, which is the point"


def test_no_other_child_asks_for_anything_at_once(cases: dict[str, Case]) -> None:
    act = {name for name, c in cases.items() for finding in review.findings(review_facts(c)) if finding.weight.value == "act"}
    assert act == {"Runar"}


def test_healthy_findings_are_told_where_a_clinic_would_have_looked(cases: dict[str, Case]) -> None:
    looked = {name for name, c in cases.items() for v in c.visits for f in v.eyes.values() if f.red_reflex is not None and f.axis_clear is YesNo.YES}
    assert looked == set(cases) - {"Milo"}
