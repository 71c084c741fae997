"""Care items at their boundaries, one kind after the other."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from schedules.adherence import Span
from schedules.care_facts import BookedVisit, CareDone, CareFacts, EyeStatus, LensLedger, PatchStock, SecondaryLens, SheetLine, StitchedEye, WornLens
from schedules.care_items import care_items, overdue
from schedules.care_sets import CareSet
from schedules.care_words import CareItem, CareKind
from schedules.regimen import Regimen
from shared.course.care_schedule import RefractionSchedule
from shared.dates import month_on
from shared.lens_words import LensState, WearSchedule
from shared.optics.ledger import Lens
from shared.treatment.dose import DatedDose
from shared.vocabulary import Laterality, MissingCorrectionRule, OpticalStatus, Phase, Status

BORN = date(2026, 1, 5)
SURGERY = date(2026, 3, 5)  # at two months
RIGHT, LEFT = Laterality
APHAKIC, PSEUDOPHAKIC = OpticalStatus.APHAKIC, OpticalStatus.PSEUDOPHAKIC
OPERATED = CareFacts(BORN, (EyeStatus(LEFT, BORN, OpticalStatus.PHAKIC), EyeStatus(LEFT, SURGERY, APHAKIC)))
LIFE = Span(BORN, month_on(BORN, 9 * 12))


def day(n: int) -> date:
    """So many days after surgery."""
    return SURGERY + timedelta(days=n)


def items(facts: CareFacts, kind: CareKind, *sets: CareSet, span: Span = LIFE) -> list[CareItem]:
    return [item for item in care_items(facts, sets, span) if item.kind is kind]


def dates(facts: CareFacts, kind: CareKind, *sets: CareSet, span: Span = LIFE) -> list[date]:
    return [item.on for item in items(facts, kind, *sets, span=span)]


def lens(from_day: int = 7, wear: WearSchedule = WearSchedule.DAILY, **days: int) -> WornLens:
    return WornLens(LEFT, day(from_day), wear, **days)


def occlusion(number: int, start: int, review: int, *steps: tuple[int, int]) -> Regimen:
    doses = tuple(DatedDose(day(on), minutes) for on, minutes in steps or ((start, 60),))
    return Regimen(number, Phase.OCCLUSION, day(start), day(review), RIGHT, doses, MissingCorrectionRule.HOLD_AND_RING)


def test_the_first_correction_is_due_within_the_clinics_days_of_each_operation() -> None:
    assert dates(OPERATED, CareKind.FIRST_CORRECTION) == [day(7)]
    assert dates(OPERATED, CareKind.FIRST_CORRECTION, CareSet(first_correction_days=14)) == [day(14)]
    twice = replace(OPERATED, statuses=(*OPERATED.statuses, EyeStatus(LEFT, day(900), PSEUDOPHAKIC)))
    assert dates(twice, CareKind.FIRST_CORRECTION) == [day(7), day(907)]
    soon = replace(OPERATED, statuses=(*OPERATED.statuses, EyeStatus(LEFT, day(7), OpticalStatus.ABSENT)))
    assert dates(soon, CareKind.FIRST_CORRECTION) == [], "an eye that is gone asks for none"


def test_the_first_correction_is_met_by_the_eyes_lens_or_by_glasses_after_surgery() -> None:
    def met(**facts: object) -> list[date | None]:
        return [i.met_on for i in items(replace(OPERATED, **facts), CareKind.FIRST_CORRECTION)]

    assert met() == [None]
    assert met(lenses=(lens(0),)) == [day(0)] and met(lenses=(lens(9),), glasses_from_on=(day(5),)) == [day(5)]
    assert met(lenses=(replace(lens(3), eye=RIGHT),), glasses_from_on=(day(-1),)) == [None]


def test_a_later_care_set_never_moves_what_an_earlier_one_dated() -> None:
    changed = CareSet(day(3), first_correction_days=30, stitches_from_days=3)
    assert dates(OPERATED, CareKind.FIRST_CORRECTION, changed) == [day(7)]
    assert dates(OPERATED, CareKind.FIRST_CORRECTION, replace(changed, from_on=day(0))) == [day(30)]


def test_the_correction_is_on_all_waking_hours_until_another_or_the_eye_changes() -> None:
    span = Span(day(0), day(40))
    worn = replace(OPERATED, lenses=(lens(7),), glasses_from_on=(day(9),))
    found = items(worn, CareKind.CORRECTION_ON, span=span)
    assert [i.on for i in found if i.eye is LEFT] == [day(n) for n in range(7, 40)]
    assert [i.on for i in found if i.eye is None] == [day(n) for n in range(9, 40)]
    second = replace(worn, statuses=(*OPERATED.statuses, EyeStatus(LEFT, day(20), PSEUDOPHAKIC)))
    found = items(second, CareKind.CORRECTION_ON, span=span)
    assert max(i.on for i in found if i.eye is LEFT) == max(i.on for i in found if i.eye is None) == day(19)


def test_lens_care_follows_the_wear_schedule() -> None:
    span = Span(day(0), day(21))
    by_day = replace(OPERATED, lenses=(lens(7),))
    assert dates(by_day, CareKind.LENS_OUT, span=span) == dates(by_day, CareKind.LENS_CLEAN, span=span) == [day(n) for n in range(7, 21)]
    assert dates(by_day, CareKind.LENS_REPLACE, span=span) == []
    overnight = replace(OPERATED, lenses=(lens(7, WearSchedule.OVERNIGHT, out_every_days=6),))
    assert dates(overnight, CareKind.LENS_OUT, span=span) == dates(overnight, CareKind.LENS_CLEAN, span=span) == [day(13), day(19)]
    disposable = replace(OPERATED, lenses=(lens(7, WearSchedule.DAILY_DISPOSABLE),))
    assert dates(disposable, CareKind.LENS_REPLACE, span=span) == [day(n) for n in range(7, 21)]
    assert dates(disposable, CareKind.LENS_OUT, span=span) == dates(disposable, CareKind.LENS_CLEAN, span=span) == []
    monthly = replace(OPERATED, lenses=(lens(7, replace_every_days=30), lens(40, replace_every_days=30)))
    assert dates(monthly, CareKind.LENS_REPLACE, span=Span(day(0), day(71))) == [day(37), day(70)], "counted anew for the next lens"


def test_lens_care_of_an_eye_ends_on_the_day_of_a_secondary_lens_and_the_other_eyes_goes_on() -> None:
    both = replace(
        OPERATED,
        statuses=(*OPERATED.statuses, EyeStatus(RIGHT, SURGERY, APHAKIC), EyeStatus(LEFT, day(20), PSEUDOPHAKIC)),
        lenses=(lens(7), replace(lens(7), eye=RIGHT)),
    )
    found = items(both, CareKind.LENS_OUT, span=Span(day(15), day(25)))
    assert [i.on for i in found if i.eye is LEFT] == [day(n) for n in range(15, 20)]
    assert [i.on for i in found if i.eye is RIGHT] == [day(n) for n in range(15, 25)]


def test_a_status_said_again_is_no_change_of_the_eye() -> None:
    again = replace(OPERATED, statuses=(*OPERATED.statuses, EyeStatus(LEFT, day(20), APHAKIC)), lenses=(lens(7),))
    assert dates(again, CareKind.LENS_OUT, span=Span(day(18), day(23))) == [day(n) for n in range(18, 23)]
    assert dates(again, CareKind.FIRST_CORRECTION) == [day(7)]


def ledger(*lenses: Lens, newest: int = 10) -> LensLedger:
    return LensLedger(LEFT, day(newest), lenses)


def test_a_spare_is_ordered_before_the_last_one_is_no_longer_trusted() -> None:
    in_use = Lens(LEFT, 29.0, LensState.IN_USE, day(97))
    spare = Lens(LEFT, 29.0, LensState.ARRIVED, day(80))

    def order(*lenses: Lens, **changed: int) -> list[date]:
        return dates(replace(OPERATED, lenses=(lens(7),), ledgers=(ledger(*lenses),)), CareKind.SPARE_LENS, CareSet(**changed))

    assert order(in_use, spare) == [day(66)] and order(in_use, spare, spare_order_days=0) == [day(80)]
    assert order(in_use) == order(in_use, replace(spare, barred=True)) == order(in_use, replace(spare, superseded=True)) == [day(10)], "at once"
    assert order(in_use, replace(spare, valid_until=day(12))) == [day(10)], "never before the ledger said so"
    assert order(in_use, replace(spare, state=LensState.ORDERED)) == [day(66)], "one is on its way"
    assert order() == [], "a ledger that was never begun says nothing"


def test_no_spare_is_asked_for_an_eye_that_wears_no_lens() -> None:
    empty = ledger(Lens(LEFT, 29.0, LensState.BROKEN, day(90)))
    assert dates(replace(OPERATED, ledgers=(empty,)), CareKind.SPARE_LENS) == []
    implanted = (*OPERATED.statuses, EyeStatus(LEFT, day(10), PSEUDOPHAKIC))
    assert dates(replace(OPERATED, statuses=implanted, lenses=(lens(7),), ledgers=(empty,)), CareKind.SPARE_LENS) == []


def test_stitches_are_looked_at_one_to_two_weeks_after_surgery() -> None:
    stitched = replace(OPERATED, stitched=(StitchedEye(LEFT, day(0)), StitchedEye(LEFT, day(40))))
    assert [(i.on, i.latest_on, i.met_on) for i in items(stitched, CareKind.STITCH_CHECK)] == [(day(7), day(14), None), (day(47), day(54), None)]
    seen = replace(stitched, done=(CareDone(CareKind.STITCH_CHECK, LEFT, day(41)),))
    assert [i.met_on for i in items(seen, CareKind.STITCH_CHECK)] == [None, day(41)]


def test_refraction_follows_the_infant_trial_to_five_years_and_then_the_clinic() -> None:
    found = items(OPERATED, CareKind.REFRACTION_CHECK)
    published = [i for i in found if i.sources]
    assert [i.on for i in published[:3]] == [date(2026, 4, 5), date(2026, 6, 5), date(2026, 9, 5)]
    assert published[-1].on == month_on(BORN, 60) and {(i.status, i.sources) for i in published} == {(Status.DERIVED, ("weakley-2017", "iats-design"))}
    assert [i.on for i in found if not i.sources] == [month_on(BORN, months) for months in range(66, 108, 6)]
    assert {i.status for i in found if not i.sources} == {Status.COMMON_PRACTICE}


def test_a_span_that_ends_within_the_schedule_shows_no_interval_of_the_clinics() -> None:
    often = CareSet(refraction_months=1)
    assert {i.sources for i in items(OPERATED, CareKind.REFRACTION_CHECK, often, span=Span(BORN, month_on(BORN, 59)))} == {("weakley-2017", "iats-design")}


def test_the_schedule_is_the_first_one_made_with_children_like_this() -> None:
    def sources(months: int, *statuses: EyeStatus, **changed: tuple[RefractionSchedule, ...]) -> set[str]:
        facts = CareFacts(BORN, (EyeStatus(LEFT, month_on(BORN, months), APHAKIC), *statuses))
        return {key for i in items(facts, CareKind.REFRACTION_CHECK, CareSet(**changed)) for key in i.sources}

    assert sources(6) == {"weakley-2017", "iats-design"} and sources(7) == {"liu-2019"} and sources(0) == set()
    assert sources(3, EyeStatus(RIGHT, month_on(BORN, 3), APHAKIC)) == {"liu-2019"}, "both eyes were operated"
    assert sources(3, refraction_schedules=(RefractionSchedule.GUANGZHOU, RefractionSchedule.INFANT_TRIAL)) == {"liu-2019"}
    assert sources(3, refraction_schedules=()) == set()


def test_where_no_schedule_holds_the_clinics_interval_does_and_begins_anew_with_each_refraction() -> None:
    own = CareSet(refraction_schedules=(), refraction_months=4)
    done = replace(OPERATED, done=(CareDone(CareKind.REFRACTION_CHECK, LEFT, date(2026, 6, 20)), CareDone(CareKind.PRESSURE_CHECK, LEFT, day(3))))
    assert dates(done, CareKind.REFRACTION_CHECK, own, span=Span(BORN, date(2027, 3, 1))) == [date(2026, 10, 20), date(2027, 2, 20)]
    glasses = CareFacts(BORN, glasses_from_on=(SURGERY, day(50)))
    assert [(i.on, i.eye) for i in items(glasses, CareKind.REFRACTION_CHECK, own)][:1] == [(date(2026, 7, 5), None)]


def test_a_refraction_within_the_days_of_one_trip_meets_the_date() -> None:
    seen = replace(OPERATED, done=(CareDone(CareKind.REFRACTION_CHECK, LEFT, date(2026, 5, 22)),))
    assert [i.met_on for i in items(seen, CareKind.REFRACTION_CHECK)][:3] == [None, date(2026, 5, 22), None]
    early = replace(OPERATED, done=(CareDone(CareKind.REFRACTION_CHECK, RIGHT, date(2026, 5, 22)),))
    assert [i.met_on for i in items(early, CareKind.REFRACTION_CHECK)][:3] == [None] * 3, "of the other eye"


def test_a_refraction_before_surgery_meets_nothing() -> None:
    weekly = CareSet(refraction_schedules=(RefractionSchedule.GUANGZHOU,))
    for on, met_on in ((day(0), None), (day(1), day(1))):
        seen = replace(OPERATED, done=(CareDone(CareKind.REFRACTION_CHECK, LEFT, on),))
        assert next((i.on, i.met_on) for i in items(seen, CareKind.REFRACTION_CHECK, weekly)) == (day(7), met_on)


def test_pressure_comes_round_every_three_six_and_twelve_months_for_life() -> None:
    found = items(OPERATED, CareKind.PRESSURE_CHECK)
    ages = [i.on for i in found]
    first_year = [month_on(SURGERY, months) for months in (3, 6, 9, 12)]
    to_school = [month_on(SURGERY, months) for months in range(18, 72, 6)]
    later = [month_on(SURGERY, months) for months in (72, 84, 96)]
    assert ages == [*first_year, *to_school, *later]
    assert {(i.status, i.sources) for i in found} == {(Status.MEMORY, ("pressure-watch",))}
    measured = replace(OPERATED, done=(CareDone(CareKind.PRESSURE_CHECK, LEFT, date(2026, 5, 20)),))
    assert dates(measured, CareKind.PRESSURE_CHECK)[0] == date(2026, 8, 20)


def test_no_plan_ends_the_watch_and_an_eye_that_is_gone_does() -> None:
    kinds = (CareKind.PRESSURE_CHECK, CareKind.REFRACTION_CHECK)
    stop = Regimen(2, Phase.STOP, day(20), None, None, (), MissingCorrectionRule.GO_ON)
    planned = replace(OPERATED, revisions=(occlusion(1, 0, 28), stop))
    for kind in kinds:
        assert dates(planned, kind) == dates(OPERATED, kind) != []
    gone = replace(OPERATED, statuses=(*OPERATED.statuses, EyeStatus(LEFT, date(2026, 6, 5), OpticalStatus.ABSENT)))
    assert [dates(gone, kind) for kind in kinds] == [[], [date(2026, 4, 5)]]
    phakic = CareFacts(BORN, (EyeStatus(LEFT, BORN, OpticalStatus.PHAKIC),))
    assert [dates(phakic, kind) for kind in kinds] == [[], []]


def test_a_power_is_out_of_date_only_of_the_lens_that_is_worn() -> None:
    forecast = replace(lens(7), power_until_on=day(90))
    assert dates(replace(OPERATED, lenses=(forecast,)), CareKind.POWER_OUT_OF_DATE) == [day(90)]
    assert dates(replace(OPERATED, lenses=(forecast, lens(91))), CareKind.POWER_OUT_OF_DATE) == [day(90)]
    assert dates(replace(OPERATED, lenses=(forecast, lens(90))), CareKind.POWER_OUT_OF_DATE) == []


def test_reviews_are_the_end_of_a_plan_and_the_visits_in_the_book() -> None:
    facts = replace(OPERATED, revisions=(occlusion(1, 0, 28), occlusion(2, 28, 60)), booked=(BookedVisit(4, day(58)), BookedVisit(9, day(58))))
    assert dates(facts, CareKind.REVIEW_DUE) == [day(60)]
    (late,) = items(replace(facts, revisions=(replace(occlusion(1, 0, 28), grace_days=3),)), CareKind.REVIEW_DUE)
    assert late.on == day(28) and late.family.params == {"ends": day(31)}
    assert [(i.on, i.ordinal) for i in items(facts, CareKind.VISIT)] == [(day(58), 4), (day(58), 9)]


def test_an_implant_is_planned_on_the_clinics_date_while_the_eye_has_none() -> None:
    asked = replace(OPERATED, secondary_lenses=(SecondaryLens(LEFT, day(1500)),))
    assert dates(asked, CareKind.SECONDARY_LENS) == [day(1500)]
    assert dates(replace(asked, statuses=(*OPERATED.statuses, EyeStatus(LEFT, day(1500), PSEUDOPHAKIC))), CareKind.SECONDARY_LENS) == []
    assert dates(replace(asked, secondary_lenses=(SecondaryLens(LEFT, day(-1)),)), CareKind.SECONDARY_LENS) == []


def test_drops_and_shield_are_the_sheets_own_days_and_words() -> None:
    drops = SheetLine(3, CareKind.DROPS, LEFT, day(1), day(4), 4, " the white bottle ")
    shield = SheetLine(5, CareKind.SHIELD, LEFT, day(1), day(2), 1, "at night")
    facts = replace(OPERATED, sheet=(drops, shield))
    assert [(i.on, i.ordinal, dict(i.family.params)) for i in items(facts, CareKind.DROPS)] == [
        (day(n), 3, {"words": "the white bottle", "times": 4}) for n in (1, 2, 3)
    ]
    assert items(facts, CareKind.DROPS)[0].clinic.params["last"] == day(3)
    assert dates(facts, CareKind.SHIELD) == [day(1)]


@pytest.mark.parametrize(
    ("left", "ordered"),
    [(20, 13), (19, 12), (5, 0), (0, 0), (27, 20), (28, None), (200, None)],
)
def test_patches_are_ordered_before_a_signed_day_has_none(left: int, ordered: int | None) -> None:
    facts = replace(OPERATED, revisions=(occlusion(1, 0, 28),), stock=PatchStock(day(0), left, 1))
    assert dates(facts, CareKind.PATCH_STOCK) == ([] if ordered is None else [day(ordered)])


def test_patches_are_counted_by_the_days_that_have_minutes() -> None:
    stock = PatchStock(day(2), 9, 2)
    alternating = occlusion(1, 0, 60, *((n, 60 if n % 2 == 0 else 0) for n in range(60)))
    # two patches on days 2, 4, 6 and 8; the one that is left is not enough for day 10
    facts = replace(OPERATED, revisions=(alternating,), stock=stock)
    assert dates(facts, CareKind.PATCH_STOCK, CareSet(patch_order_days=0)) == [day(10)]
    assert dates(replace(facts, revisions=()), CareKind.PATCH_STOCK) == []


def test_a_kind_is_on_and_in_its_words_by_the_set_of_its_own_day() -> None:
    facts = replace(OPERATED, lenses=(lens(7),))
    later = CareSet(day(10), kinds_off=frozenset({CareKind.LENS_CLEAN}), words={CareKind.LENS_OUT: " Lens out, please "})
    span = Span(day(7), day(14))
    assert dates(facts, CareKind.LENS_CLEAN, later, span=span) == [day(7), day(8), day(9)]
    own = [dict(i.family.params).get("words") for i in items(facts, CareKind.LENS_OUT, later, span=span)]
    assert own == [None, None, None, *["Lens out, please"] * 4]


def test_of_a_lens_of_which_nobody_said_how_it_is_worn_only_the_waking_hours_are_said() -> None:
    unknown, span = replace(OPERATED, lenses=(replace(lens(7), wear_schedule=None),)), Span(day(0), day(21))
    assert {i.kind for i in care_items(unknown, (), span) if i.kind.value.startswith("lens-")} == set()
    assert dates(unknown, CareKind.CORRECTION_ON, span=span) == [day(n) for n in range(7, 21)]


def test_a_lens_that_is_lost_is_worn_no_longer() -> None:
    lost = replace(OPERATED, lenses=(lens(7, ended_on=day(12)), lens(15)))
    found = dates(lost, CareKind.CORRECTION_ON, span=Span(day(0), day(18)))
    assert found == [day(n) for n in (7, 8, 9, 10, 11, 15, 16, 17)]


def test_what_has_been_answered_says_when() -> None:
    worn = replace(OPERATED, lenses=(lens(7, power_until_on=day(100)), lens(130)))
    assert [i.met_on for i in items(worn, CareKind.POWER_OUT_OF_DATE)] == [day(130)]
    went_on = replace(OPERATED, revisions=(occlusion(1, 0, 10), occlusion(2, 14, 40)))
    assert [(i.on, i.met_on) for i in items(went_on, CareKind.REVIEW_DUE)] == [(day(10), day(14)), (day(40), None)]
    implanted = replace(OPERATED, secondary_lenses=(SecondaryLens(LEFT, day(300)),), statuses=(*OPERATED.statuses, EyeStatus(LEFT, day(350), PSEUDOPHAKIC)))
    assert [i.met_on for i in items(implanted, CareKind.SECONDARY_LENS)] == [day(350)]


def test_what_waits_for_the_clinic_is_the_newest_of_its_kind_that_nothing_has_met() -> None:
    def late(n: int, **facts: object) -> list[date]:
        found = care_items(replace(OPERATED, **facts), (), LIFE)
        return [i.on for i in overdue(found, day(n)) if i.kind is CareKind.PRESSURE_CHECK]

    quarter = [month_on(SURGERY, months) for months in (3, 6)]
    n = (quarter[0] - SURGERY).days
    assert late(n) == [] and late(n + 1) == [quarter[0]], "due today is not overdue"
    assert late((quarter[1] - SURGERY).days + 1) == [quarter[1]], "the one before asks for nothing beside it"
    assert late(n + 1, done=(CareDone(CareKind.PRESSURE_CHECK, LEFT, day(n + 1)),)) == []
    early = CareDone(CareKind.REFRACTION_CHECK, LEFT, month_on(SURGERY, 3) - timedelta(days=5))
    waiting = {i.kind for i in overdue(care_items(replace(OPERATED, done=(early,)), (), LIFE), early.on + timedelta(days=1))}
    assert CareKind.REFRACTION_CHECK not in waiting and CareKind.FIRST_CORRECTION in waiting, "a check made early stands for the date ahead"
    booked = replace(OPERATED, booked=(BookedVisit(1, day(5)),))
    assert CareKind.VISIT not in {i.kind for i in overdue(care_items(booked, (), LIFE), day(50))}
