"""What holds for all care items, whatever the child's facts and the clinic's sets."""

from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from schedules.adherence import Span
from schedules.care_facts import BookedVisit, CareDone, CareFacts, EyeStatus, LensLedger, PatchStock, SecondaryLens, SheetLine, StitchedEye, WornLens
from schedules.care_items import care_items, clinic_items, overdue
from schedules.care_sets import CareSet
from schedules.care_words import CareKind, DoneBy, ordinal_of
from schedules.regimen import Regimen
from shared.course.care_schedule import RefractionSchedule
from shared.lens_words import LensState, WearSchedule
from shared.optics.ledger import Lens
from shared.sources import source
from shared.treatment.dose import DatedDose
from shared.vocabulary import Laterality, MissingCorrectionRule, OpticalStatus, Phase, Status
from tests.shared.messages import check

BORN = date(2026, 1, 5)
DAY = st.integers(0, 420).map(lambda n: BORN + timedelta(days=n))
EYE = st.sampled_from(Laterality)


@st.composite
def worn_lenses(draw: st.DrawFn) -> WornLens:
    wear, from_on = draw(st.sampled_from([*WearSchedule, None])), draw(DAY)
    out = draw(st.integers(1, 31)) if wear is WearSchedule.OVERNIGHT else None
    replaced = None if wear is WearSchedule.DAILY_DISPOSABLE else draw(st.none() | st.integers(1, 90))
    power_until_on = draw(st.none() | st.integers(0, 200).map(lambda n: from_on + timedelta(days=n)))
    ended_on = draw(st.none() | st.integers(0, 90).map(lambda n: from_on + timedelta(days=n)))
    return WornLens(draw(EYE), from_on, wear, out, replaced, power_until_on, ended_on)


@st.composite
def ledgers(draw: st.DrawFn) -> LensLedger:
    eye = draw(EYE)
    lenses = st.builds(Lens, st.just(eye), st.just(29.0), st.sampled_from(LensState), DAY, st.booleans(), st.booleans())
    return LensLedger(eye, draw(DAY), tuple(draw(st.lists(lenses, max_size=3))))


@st.composite
def sheet_lines(draw: st.DrawFn) -> SheetLine:
    start_on, kind = draw(DAY), draw(st.sampled_from([CareKind.DROPS, CareKind.SHIELD]))
    return SheetLine(draw(st.integers(1, 9)), kind, draw(st.none() | EYE), start_on, start_on + timedelta(days=draw(st.integers(1, 30))), 3, "as told")


@st.composite
def regimens(draw: st.DrawFn, number: int) -> Regimen:
    start_on = draw(DAY)
    review_on = start_on + timedelta(days=draw(st.integers(1, 90)))
    return Regimen(number, Phase.OCCLUSION, start_on, review_on, Laterality.RIGHT, (DatedDose(start_on, 60),), MissingCorrectionRule.GO_ON)


def several(made: st.SearchStrategy, place: Callable[[Any], Any] | None = None) -> st.SearchStrategy:
    return st.lists(made, max_size=3, unique_by=place).map(tuple)


DONE = st.sampled_from([CareKind.REFRACTION_CHECK, CareKind.PRESSURE_CHECK, CareKind.STITCH_CHECK])
FACTS = st.builds(
    CareFacts,
    st.just(BORN),
    several(st.builds(EyeStatus, EYE, DAY, st.sampled_from(OpticalStatus)), lambda s: (s.eye, s.from_on)),
    several(worn_lenses(), lambda one: (one.eye, one.from_on)),
    several(DAY, lambda on: on),
    several(st.builds(StitchedEye, EYE, DAY), lambda s: (s.eye, s.on)),
    several(st.builds(CareDone, DONE, EYE, DAY)),
    several(sheet_lines(), lambda line: line.number),
    several(st.builds(BookedVisit, st.integers(1, 9), DAY), lambda visit: visit.number),
    st.tuples(regimens(1), regimens(2)) | st.just(()),
    st.none() | st.builds(PatchStock, DAY, st.integers(0, 60), st.integers(1, 6)),
    several(ledgers(), lambda one: one.eye),
    several(st.builds(SecondaryLens, EYE, DAY), lambda s: s.eye),
)
SETS = several(
    st.builds(
        CareSet,
        st.none() | DAY,
        st.frozensets(st.sampled_from(sorted(set(CareKind) - {CareKind.PRESSURE_CHECK})), max_size=3),
        st.integers(1, 60),
        st.integers(1, 7),
        st.integers(7, 60),
        st.lists(st.sampled_from(RefractionSchedule), unique=True).map(tuple),
        st.integers(1, 12),
        st.integers(0, 60),
        st.integers(0, 30),
        st.integers(0, 21),
    ),
    lambda s: s.from_on,
)
WHOLE = Span(BORN, BORN + timedelta(days=600))


@given(FACTS, SETS)
def test_each_item_has_a_place_of_its_own_a_cause_before_it_and_words(facts: CareFacts, sets: tuple[CareSet, ...]) -> None:
    found = care_items(facts, sets, WHOLE)
    assert len({i.key for i in found}) == len(found)
    assert list(found) == sorted(found, key=lambda i: i.key)
    order = list(Status)
    for item in found:
        check(item)
        assert item.caused_on <= item.on <= item.due_on
        assert all(order.index(item.status) >= order.index(source(key).status) for key in item.sources)
        assert item.met_on is None or item.met_on >= item.caused_on


@given(FACTS, SETS, st.integers(0, 600))
def test_two_spans_that_adjoin_give_what_one_does(facts: CareFacts, sets: tuple[CareSet, ...], n: int) -> None:
    between = BORN + timedelta(days=n)
    parts = care_items(facts, sets, Span(WHOLE.first_on, between)) + care_items(facts, sets, Span(between, WHOLE.end_on))
    assert parts == care_items(facts, sets, WHOLE)


@given(FACTS, SETS, DAY)
def test_what_waits_for_the_clinic_is_one_item_of_a_kind_and_eye_past_and_unmet(facts: CareFacts, sets: tuple[CareSet, ...], today: date) -> None:
    items = care_items(facts, sets, WHOLE)
    late = overdue(items, today)
    assert late == overdue(clinic_items(facts, sets, WHOLE), today), "the family's are not among them"
    assert len({(i.kind, i.eye) for i in late}) == len(late)
    for item in late:
        assert item.due_on < today and item.met_on is None and item.kind.done_by is DoneBy.CLINIC
        newer = [i for i in items if (i.kind, i.eye) == (item.kind, item.eye) and i.due_on > item.due_on]
        assert all(i.due_on >= today and i.met_on is None for i in newer)


LENS_KINDS = (CareKind.LENS_OUT, CareKind.LENS_CLEAN, CareKind.LENS_REPLACE, CareKind.SPARE_LENS, CareKind.POWER_OUT_OF_DATE, CareKind.CORRECTION_ON)


def places(eye: Laterality | None, *kinds: CareKind) -> set[tuple[CareKind, int]]:
    return {(kind, ordinal_of(eye)) for kind in kinds}


# The places that one fact of each sort may touch. Glasses and refractions count for a child of whom no eye was operated on, too.
TOUCHED = {
    "lenses": lambda one: places(one.eye, *LENS_KINDS),
    "glasses_from_on": lambda _: places(None, CareKind.CORRECTION_ON, CareKind.REFRACTION_CHECK),
    "stitched": lambda one: places(one.eye, CareKind.STITCH_CHECK),
    "done": lambda one: places(one.eye, one.kind) | places(None, CareKind.REFRACTION_CHECK),
    "sheet": lambda one: {(one.kind, one.number)},
    "booked": lambda one: {(CareKind.VISIT, one.number)},
    "revisions": lambda _: places(None, CareKind.REVIEW_DUE, CareKind.PATCH_STOCK),
    "ledgers": lambda one: places(one.eye, CareKind.SPARE_LENS),
    "secondary_lenses": lambda one: places(one.eye, CareKind.SECONDARY_LENS),
}


@given(FACTS, SETS)
@settings(max_examples=60)
def test_one_fact_changed_leaves_every_other_item_who_it_was(facts: CareFacts, sets: tuple[CareSet, ...]) -> None:
    before = {i.key for i in care_items(facts, sets, WHOLE)}
    less = [(replace(facts, **{field: given[1:]}), touched(given[0])) for field, touched in TOUCHED.items() if (given := getattr(facts, field))]
    for changed, touched in [*less, (replace(facts, stock=None), places(None, CareKind.PATCH_STOCK))]:
        moved = before ^ {i.key for i in care_items(changed, sets, WHOLE)}
        assert {(kind, ordinal) for _, kind, ordinal in moved} <= touched
