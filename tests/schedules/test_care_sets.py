"""A clinic's care sets and the facts they meet: what cannot be is refused by its name."""

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest

from schedules.care_facts import BookedVisit, CareDone, CareFacts, EyeStatus, LensLedger, PatchStock, SecondaryLens, SheetLine, StitchedEye, WornLens
from schedules.care_sets import BUILT_IN_CARE_SET, CareSet, care_set_on
from schedules.care_words import CareKind, DoneBy
from shared.course.care_schedule import RefractionSchedule
from shared.errors import ClinicalInputError
from shared.lens_words import WearSchedule
from shared.vocabulary import Laterality, OpticalStatus
from tests.shared.messages import check

BORN = date(2026, 1, 5)
RIGHT, LEFT = Laterality
NAN, INFINITE = float("nan"), float("inf")


def refused(make: Any, *given: Any, **changed: Any) -> str:
    with pytest.raises(ClinicalInputError) as error:
        make(*given, **changed)
    check(error.value.message)
    return error.value.field


@pytest.mark.parametrize(
    ("field", "last"),
    [
        ("first_correction_days", (1, 60)),
        ("stitches_from_days", (1, 14)),
        ("stitches_until_days", (7, 60)),
        ("refraction_months", (1, 12)),
        ("spare_order_days", (0, 60)),
        ("patch_order_days", (0, 30)),
        ("together_days", (0, 21)),
    ],
)
def test_an_interval_has_its_limits(field: str, last: tuple[int, int]) -> None:
    low, high = last
    for value in (low, high):
        assert getattr(CareSet(**{field: value}), field) == value
    outside: list[Any] = [low - 1, high + 1] if field != "stitches_from_days" else [low - 1, 31]
    for value in (*outside, NAN, INFINITE, 7.5):
        assert refused(CareSet, **{field: value}) in (field, "stitches_until_days")


def test_stitches_are_not_looked_at_until_before_they_are_looked_at() -> None:
    assert refused(CareSet, stitches_from_days=15) == "stitches_until_days"


def test_a_set_is_refused_for_words_no_calendar_could_hold_and_schedules_named_twice() -> None:
    for words in ("", " ", "a" * 201, "two\nlines", "\ud800"):
        assert refused(CareSet, words={CareKind.DROPS: words}) == "words"
    assert CareSet(words={CareKind.DROPS: "a" * 200}).words
    assert refused(CareSet, refraction_schedules=(RefractionSchedule.GUANGZHOU,) * 2) == "refraction_schedules"


def test_a_set_holds_from_its_date_until_the_next() -> None:
    first, second = CareSet(BORN, together_days=1), CareSet(BORN + timedelta(days=10), together_days=2)
    assert [care_set_on([second, first], BORN + timedelta(days=n)) for n in (-1, 0, 9, 10)] == [BUILT_IN_CARE_SET, first, first, second]
    own_from_ever = CareSet(together_days=3)
    assert care_set_on([first, own_from_ever], BORN - timedelta(days=1)) is own_from_ever
    assert refused(care_set_on, [first, replace(second, from_on=BORN)], BORN) == "from_on"


def test_who_does_it_and_what_is_a_journey() -> None:
    assert {kind for kind in CareKind if kind.done_by is DoneBy.FAMILY} == {
        CareKind.CORRECTION_ON,
        CareKind.LENS_OUT,
        CareKind.LENS_CLEAN,
        CareKind.LENS_REPLACE,
        CareKind.DROPS,
        CareKind.SHIELD,
        CareKind.PATCH_STOCK,
    }
    assert not CareKind.SPARE_LENS.is_visit and CareKind.PRESSURE_CHECK.is_visit and not CareKind.DROPS.is_visit


@pytest.mark.parametrize(
    ("field", "wear", "days"),
    [
        ("out_every_days", WearSchedule.OVERNIGHT, {}),
        ("out_every_days", WearSchedule.OVERNIGHT, {"out_every_days": 0}),
        ("out_every_days", WearSchedule.OVERNIGHT, {"out_every_days": 32}),
        ("out_every_days", WearSchedule.DAILY, {"out_every_days": 7}),
        ("replace_every_days", WearSchedule.DAILY_DISPOSABLE, {"replace_every_days": 30}),
        ("replace_every_days", WearSchedule.DAILY, {"replace_every_days": 0}),
        ("replace_every_days", WearSchedule.DAILY, {"replace_every_days": 733}),
        ("power_until_on", WearSchedule.DAILY, {"power_until_on": BORN - timedelta(days=1)}),
    ],
)
def test_a_worn_lens_is_refused_by_the_field_that_cannot_be(field: str, wear: WearSchedule, days: dict[str, Any]) -> None:
    assert refused(WornLens, LEFT, BORN, wear, **days) == field


def test_the_limits_of_a_lens_themselves_can_be() -> None:
    for days in (1, 31):
        assert WornLens(LEFT, BORN, WearSchedule.OVERNIGHT, out_every_days=days, replace_every_days=732, power_until_on=BORN).out_every_days == days


LINE = SheetLine(1, CareKind.DROPS, LEFT, BORN, BORN + timedelta(days=7), 4, "the white bottle")


@pytest.mark.parametrize(
    ("field", "change"),
    [
        ("kind", {"kind": CareKind.LENS_OUT}),
        ("end_on", {"end_on": BORN}),
        ("times_a_day", {"times_a_day": 0}),
        ("times_a_day", {"times_a_day": 25}),
        ("words", {"words": "  "}),
        ("words", {"words": "a" * 201}),
    ],
)
def test_a_line_of_the_surgeons_sheet_is_refused_by_its_field(field: str, change: dict[str, Any]) -> None:
    assert refused(replace, LINE, **change) == field


def test_patches_and_checks_that_cannot_be() -> None:
    assert refused(PatchStock, BORN, -1, 1) == refused(PatchStock, BORN, 10_001, 1) == "patches_left"
    assert refused(PatchStock, BORN, 10, 0) == refused(PatchStock, BORN, 10, 7) == "patches_a_day"
    assert refused(CareDone, CareKind.DROPS, LEFT, BORN) == "kind"


@pytest.mark.parametrize(
    ("field", "twice"),
    [
        ("statuses", EyeStatus(LEFT, BORN, OpticalStatus.PHAKIC)),
        ("lenses", WornLens(LEFT, BORN, WearSchedule.DAILY)),
        ("glasses_from_on", BORN),
        ("stitched", StitchedEye(LEFT, BORN)),
        ("sheet", LINE),
        ("booked", BookedVisit(3, BORN)),
        ("ledgers", LensLedger(LEFT, BORN, ())),
        ("secondary_lenses", SecondaryLens(LEFT, BORN)),
    ],
)
def test_two_facts_do_not_stand_in_one_place(field: str, twice: Any) -> None:
    assert refused(CareFacts, BORN, **{field: (twice, twice)}) == field
    assert CareFacts(BORN, **{field: (twice,)})


def test_nothing_of_the_eyes_lies_before_birth() -> None:
    before = BORN - timedelta(days=1)
    for field, fact in {
        "statuses": EyeStatus(LEFT, before, OpticalStatus.PHAKIC),
        "lenses": WornLens(LEFT, before, WearSchedule.DAILY),
        "glasses_from_on": before,
        "stitched": StitchedEye(LEFT, before),
        "done": CareDone(CareKind.PRESSURE_CHECK, LEFT, before),
    }.items():
        assert refused(CareFacts, BORN, **{field: (fact,)}) == field
