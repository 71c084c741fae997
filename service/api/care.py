"""A child's care beside patching: its dated items, and what staff say of it."""

from collections.abc import Callable
from datetime import date, datetime

from fastapi import APIRouter, Request
from fastapi.responses import Response
from pydantic import BaseModel, Field
from sqlmodel import Session

from schedules.care_sets import MOST_LETTERS
from schedules.care_words import CareItem, CareKind, DoneBy
from service.access import child_of
from service.actions import care as actions
from service.api.answers import SourceAnswer
from service.api.bearer import ApiRecorder, ApiRegistrar, ApiStaff
from service.api.body import LONGEST_ID, SPEAK, Day, Filled, Strict, Whole
from service.api.once import DoneOnce, Once
from service.api.pages import Listed, Page, WantedPage
from service.api.problems import problems
from service.db import reading
from service.facts import Child, Staff
from service.facts_of_home_care import CareEntry, LensWear
from service.store import care_record as store
from service.views import case
from service.views.care import overdue_of
from service.views.care_page import ahead_of, trips_of
from service.wiring import wiring
from shared.lens_words import WearSchedule
from shared.sources import source
from shared.vocabulary import Laterality, Status

router = APIRouter(prefix="/children/{child_id}", tags=["care"], responses=problems(404))


class CareItemAnswer(BaseModel):
    """`latest_on`: in time until then, else on `on` alone. `met_on`: when it was done."""

    kind: CareKind
    on: date
    latest_on: date | None
    met_on: date | None
    eye: Laterality | None
    done_by: DoneBy
    clinic: str = Field(description="for the clinic")
    family: str = Field(description="for the family, in the clinic's own words where it has some")
    status: Status
    sources: list[SourceAnswer] = Field(description="none: common practice")


class TripAnswer(BaseModel):
    on: date
    items: list[CareItemAnswer]


class CareAnswer(BaseModel):
    """Proposals. What the clinic does is shown for a year ahead, what the family does for four weeks."""

    today: date
    overdue: list[CareItemAnswer] = Field(description="what waits for the clinic: of each kind and eye the newest that is past")
    ahead: list[CareItemAnswer]
    trips: list[TripAnswer] = Field(description="visits close together as one; what is overdue is wanted today")


class NewSheetLine(Strict):
    """On the half-open days from `start_on` to `end_on`."""

    kind: CareKind = Field(description="drops or shield")
    eye: Laterality | None = None
    start_on: Day = Field(description="today or later")
    end_on: Day
    times_a_day: Whole
    words: Filled = Field(max_length=MOST_LETTERS, description="the sheet's own, as the family knows them")


class SheetLineEnd(Strict):
    line: Whole = Field(description="`line` of the sheet line")
    end_on: Day = Field(description="no longer from this day on; today or later")


class PatchCount(Strict):
    patches_left: Whole = Field(description="this morning")
    patches_a_day: Whole = Field(description="used on a day with patch")


class SecondaryLensDate(Strict):
    eye: Laterality
    on: Day | None = Field(None, description="from when an implant is to be planned, today or later; null: no date any more")


class LensWorn(Strict):
    """How the lens of a signed document is worn, as it is labelled."""

    correction_id: str = Field(max_length=LONGEST_ID)
    eye: Laterality
    wear_schedule: WearSchedule
    out_every_days: Whole | None = Field(None, description="the labelled limit of a lens worn overnight")
    replace_every_days: Whole | None = Field(None, description="how long one lens is used, where that is labelled")


class CareEntryAnswer(Listed):
    """One thing said; what is not of its kind is null. Of two that speak of one thing the later holds."""

    what: str
    line: int | None = Field(None, description="a sheet line's own number")
    kind: CareKind | None = None
    eye: Laterality | None = None
    start_on: date | None = None
    end_on: date | None = None
    times_a_day: int | None = None
    words: str | None = None
    counted_on: date | None = None
    patches_left: int | None = None
    patches_a_day: int | None = None
    on: date | None = None
    correction_id: str | None = None
    wear_schedule: WearSchedule | None = None
    out_every_days: int | None = None
    replace_every_days: int | None = None
    recorded_by: str
    by_family: bool
    recorded_at: datetime


def entry_answer(e: CareEntry) -> CareEntryAnswer:
    said = {("line" if name == "number" else name): value for name, value in vars(e.said).items()}
    return CareEntryAnswer(id=e.public_id, what=store.kind_of(e.said), recorded_by=e.recorded_by, by_family=e.by_family, recorded_at=e.recorded_at, **said)


def _item(i: CareItem) -> CareItemAnswer:
    return CareItemAnswer(
        kind=i.kind,
        on=i.on,
        latest_on=i.latest_on,
        met_on=i.met_on,
        eye=i.eye,
        done_by=i.kind.done_by,
        clinic=SPEAK.text(i.clinic),
        family=SPEAK.text(i.family),
        status=i.status,
        sources=[SourceAnswer.model_validate(source(key)) for key in i.sources],
    )


@router.get("/care", summary="Care beside patching: overdue, ahead, and the trips that would do")
def read_care(request: Request, staff: ApiStaff, child_id: str) -> CareAnswer:
    w = wiring(request)
    with reading(w.engine) as session:
        c = case.load(session, child_of(session, staff, child_id), w.clock.now())
    late, ahead = overdue_of(c), ahead_of(c)
    return CareAnswer(
        today=c.today,
        overdue=list(map(_item, late)),
        ahead=list(map(_item, ahead)),
        trips=[TripAnswer(on=t.on, items=list(map(_item, t.items))) for t in trips_of(c, late, ahead)],
    )


@router.get("/care-entries", summary="What was said of a child's care, in the order in which it was recorded")
def list_care_entries(request: Request, staff: ApiStaff, child_id: str, wanted: WantedPage) -> Page[CareEntryAnswer]:
    with reading(wiring(request).engine) as session:
        child = child_of(session, staff, child_id)
        return wanted.page(lambda after, limit: map(entry_answer, store.entries_behind(session, child, after, limit)))


@router.get("/care-entries/{entry_id}", summary="One thing said of a child's care")
def read_care_entry(request: Request, staff: ApiStaff, child_id: str, entry_id: str) -> CareEntryAnswer:
    with reading(wiring(request).engine) as session:
        return entry_answer(store.entry(session, child_of(session, staff, child_id), entry_id))


def _say(once: Once, staff: Staff, child_id: str, action: str, body: BaseModel, deed: Callable[[Session, Child, datetime], str]) -> Response:
    def say(session: Session, now: datetime) -> CareEntryAnswer:
        child = child_of(session, staff, child_id)
        return entry_answer(store.entry(session, child, deed(session, child, now)))

    return once.make(action, body, say, at=f"/api/children/{child_id}/care-entries")


@router.post("/sheet-lines", summary="Add a line of the surgeon's sheet", status_code=201, response_model=CareEntryAnswer, responses=problems(400, 403))
def add_sheet_line(staff: ApiRecorder, once: DoneOnce, child_id: str, body: NewSheetLine) -> Response:
    line = actions.NewLine(**dict(body))
    return _say(once, staff, child_id, "add-sheet-line", body, lambda s, child, now: actions.enter_line(s, staff, child, line, now))


@router.post("/sheet-line-ends", summary="End a line of the sheet earlier", status_code=201, response_model=CareEntryAnswer, responses=problems(400, 403))
def end_sheet_line(staff: ApiRecorder, once: DoneOnce, child_id: str, body: SheetLineEnd) -> Response:
    return _say(once, staff, child_id, "end-sheet-line", body, lambda s, child, now: actions.end_line(s, staff, child, body.line, body.end_on, now))


@router.post("/patch-counts", summary="Say how many patches are left", status_code=201, response_model=CareEntryAnswer, responses=problems(400, 403))
def count_patches(staff: ApiRegistrar, once: DoneOnce, child_id: str, body: PatchCount) -> Response:
    counted = body.patches_left, body.patches_a_day
    return _say(once, staff, child_id, "count-patches", body, lambda s, child, now: actions.count_patches(s, staff, child, *counted, now))


@router.post(
    "/secondary-lens-dates",
    summary="Say from when an implant is to be planned",
    status_code=201,
    response_model=CareEntryAnswer,
    responses=problems(400, 403),
)
def set_secondary_lens_date(staff: ApiRecorder, once: DoneOnce, child_id: str, body: SecondaryLensDate) -> Response:
    return _say(once, staff, child_id, "secondary-lens-date", body, lambda s, child, now: actions.plan_secondary_lens(s, staff, child, body.eye, body.on, now))


@router.post("/lens-wear", summary="Say how a signed lens is worn", status_code=201, response_model=CareEntryAnswer, responses=problems(400, 403))
def set_lens_wear(staff: ApiRecorder, once: DoneOnce, child_id: str, body: LensWorn) -> Response:
    wear = LensWear(**dict(body))
    return _say(once, staff, child_id, "lens-wear", body, lambda s, child, now: actions.set_lens_wear(s, staff, child, wear, now))
