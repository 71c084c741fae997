"""The clinic's own lens ranges: list, enter, change, end. Each change is a version from a day on."""

from collections.abc import Callable
from datetime import date, datetime

from fastapi import APIRouter, Request
from fastapi.responses import Response
from pydantic import BaseModel, ConfigDict, Field
from sqlmodel import Session

from service.actions import lens_ranges as actions
from service.api.bearer import ApiRangeKeeper, ApiStaff
from service.api.body import Day, Filled, Number, Strict
from service.api.once import DoneOnce, Once
from service.api.pages import Listed, Page, WantedPage
from service.api.problems import problems
from service.clock import local_today
from service.db import reading
from service.facts import Staff
from service.facts_of_lenses import EnteredRange
from service.store import lens_ranges as store
from service.store import people
from service.wiring import wiring
from shared.lens_words import LensMaterial, WearSchedule
from shared.optics.lens_range import LensRange, Span
from shared.vocabulary import Status

ADDRESS = "/api/lens-ranges"
router = APIRouter(prefix="/lens-ranges", tags=["lenses"])


class SpanBody(Strict):
    """Powers from `first` up to `last` in steps of `step`, in D."""

    first: Number
    last: Number
    step: Number


class RangeBody(Strict):
    from_on: Day = Field(description="today or later: what holds on past days is never changed")
    powers: list[SpanBody] = Field(min_length=1, max_length=10)
    base_curves_mm: list[Number] = Field([], max_length=30, description="none listed: an order does not ask for one")
    diameters_mm: list[Number] = Field([], max_length=30)
    material: LensMaterial | None = None
    wear_schedule: WearSchedule | None = None

    def lens_range(self, name: str) -> LensRange:
        return LensRange(
            name=name,
            spans=tuple(Span(s.first, s.last, s.step) for s in self.powers),
            status=Status.COMMON_PRACTICE,
            base_curves_mm=tuple(sorted(set(self.base_curves_mm))),
            diameters_mm=tuple(sorted(set(self.diameters_mm))),
            material=self.material,
            wear_schedule=self.wear_schedule,
        )


class NewRange(RangeBody):
    name: Filled = Field(max_length=60, description="of the clinic's own choosing, once a clinic")


class End(Strict):
    from_on: Day = Field(description="from this day on there is no such range")


class SpanAnswer(BaseModel):
    model_config = ConfigDict(from_attributes=True)
    first: float
    last: float
    step: float


class RangeAnswer(Listed):
    """One version of a range. On any day the version that began last holds."""

    name: str
    number: int = Field(description="of the version, from 1")
    from_on: date
    ended: bool = Field(description="from then on there is no such range")
    powers: list[SpanAnswer]
    base_curves_mm: list[float]
    diameters_mm: list[float]
    material: LensMaterial | None
    wear_schedule: WearSchedule | None
    entered_by: str
    entered_at: datetime


def range_answer(e: EnteredRange) -> RangeAnswer:
    r = e.lens_range
    return RangeAnswer(
        id=e.public_id,
        name=r.name,
        number=e.number,
        from_on=e.from_on,
        ended=e.ended,
        powers=[SpanAnswer.model_validate(s) for s in r.spans],
        base_curves_mm=list(r.base_curves_mm),
        diameters_mm=list(r.diameters_mm),
        material=r.material,
        wear_schedule=r.wear_schedule,
        entered_by=e.entered_by,
        entered_at=e.entered_at,
    )


def _take(once: Once, staff: Staff, action: str, body: BaseModel, deed: Callable[[Session, date, datetime], str]) -> Response:
    def take(session: Session, now: datetime) -> RangeAnswer:
        today = local_today(now, people.clinic(session, staff.clinic_id).time_zone)
        return range_answer(store.one(session, staff.clinic_id, deed(session, today, now)))

    return once.make(action, body, take, at=ADDRESS)


@router.get("", summary="Every version of the clinic's lens ranges, in the order in which they were entered")
def list_lens_ranges(request: Request, staff: ApiStaff, wanted: WantedPage) -> Page[RangeAnswer]:
    with reading(wiring(request).engine) as session:
        return wanted.page(lambda after, limit: map(range_answer, store.ranges_behind(session, staff.clinic_id, after, limit)))


@router.post("", status_code=201, summary="Enter a range of a new name", response_model=RangeAnswer, responses=problems(400, 403, 409))
def enter_lens_range(staff: ApiRangeKeeper, once: DoneOnce, body: NewRange) -> Response:
    return _take(once, staff, "enter-lens-range", body, lambda s, today, now: actions.enter(s, staff, body.lens_range(body.name), body.from_on, today, now))


@router.get("/{range_id}", summary="One version of a range", responses=problems(404))
def read_lens_range(request: Request, staff: ApiStaff, range_id: str) -> RangeAnswer:
    with reading(wiring(request).engine) as session:
        return range_answer(store.one(session, staff.clinic_id, range_id))


@router.post(
    "/{range_id}/change",
    status_code=201,
    summary="The version after this one; 409 where there is one already",
    response_model=RangeAnswer,
    responses=problems(400, 403, 404, 409),
)
def change_lens_range(staff: ApiRangeKeeper, once: DoneOnce, range_id: str, body: RangeBody) -> Response:
    def deed(session: Session, today: date, now: datetime) -> str:
        seen = store.one(session, staff.clinic_id, range_id)
        return actions.change(session, staff, seen, body.lens_range(seen.lens_range.name), body.from_on, today, now)

    return _take(once, staff, "change-lens-range", body, deed)


@router.post(
    "/{range_id}/end",
    status_code=201,
    summary="End a range from a day on; 409 where this is no longer its newest version",
    response_model=RangeAnswer,
    responses=problems(400, 403, 404, 409),
)
def end_lens_range(staff: ApiRangeKeeper, once: DoneOnce, range_id: str, body: End) -> Response:
    def deed(session: Session, today: date, now: datetime) -> str:
        return actions.end(session, staff, store.one(session, staff.clinic_id, range_id), body.from_on, today, now)

    return _take(once, staff, "end-lens-range", body, deed)
