"""The clinic's care set: list, enter, read. Each change is a version from a day on."""

from datetime import date, datetime
from typing import Annotated

from fastapi import APIRouter, Request
from fastapi.responses import Response
from pydantic import BaseModel, ConfigDict, Field
from sqlmodel import Session

from schedules.care_sets import MOST_LETTERS, CareSet
from schedules.care_words import CareKind
from service.actions import care_sets as actions
from service.api.bearer import ApiAdministrator, ApiStaff
from service.api.body import Day, Filled, Strict, Whole
from service.api.once import DoneOnce
from service.api.pages import Listed, Page, WantedPage
from service.api.problems import problems
from service.clock import local_today
from service.db import reading
from service.facts_of_home_care import EnteredCareSet
from service.store import care_sets as store
from service.store import people
from service.wiring import wiring
from shared.course.care_schedule import RefractionSchedule

ADDRESS = "/api/care-sets"
router = APIRouter(prefix="/care-sets", tags=["care"])


class CareSetFields(BaseModel):
    """Days and months as their names say; every value of the built-in set is common practice."""

    model_config = ConfigDict(from_attributes=True)
    kinds_off: list[CareKind]
    first_correction_days: int
    stitches_from_days: int
    stitches_until_days: int
    refraction_schedules: list[RefractionSchedule]
    refraction_months: int
    spare_order_days: int
    patch_order_days: int
    together_days: int
    words: dict[CareKind, str]


class CareSetBody(Strict):
    """The whole set as it is to be."""

    from_on: Day = Field(description="today or later: what was dated before keeps its date")
    kinds_off: list[CareKind] = Field([], max_length=len(CareKind), description="kinds of care that are not asked for")
    first_correction_days: Whole = Field(description="after the surgery that took an eye's lens, or put one in")
    stitches_from_days: Whole
    stitches_until_days: Whole
    refraction_schedules: list[RefractionSchedule] = Field(max_length=len(RefractionSchedule), description="of these the first holds that is for the child")
    refraction_months: Whole = Field(description="where none of them is, and after its last date")
    spare_order_days: Whole = Field(description="before the last spare is no longer trusted")
    patch_order_days: Whole = Field(description="before the last patch is used")
    together_days: Whole = Field(description="how far a visit may be brought forward to join another")
    words: dict[CareKind, Annotated[Filled, Field(max_length=MOST_LETTERS)]] = Field({}, description="for the family, in place of the built-in ones")
    seen: Whole = Field(ge=0, description="`number` of the newest version that was read, 0 where there was none; 409 where there is a newer one")

    def care_set(self) -> CareSet:
        typed = self.model_dump(exclude={"from_on", "seen", "kinds_off", "refraction_schedules"})
        return CareSet(kinds_off=frozenset(self.kinds_off), refraction_schedules=tuple(self.refraction_schedules), **typed)


class CareSetAnswer(CareSetFields, Listed):
    """One version. On any day the version that began last holds."""

    number: int = Field(description="of the version, from 1")
    from_on: date
    entered_by: str
    entered_at: datetime


def care_set_answer(e: EnteredCareSet) -> CareSetAnswer:
    fields = dict(CareSetFields.model_validate(e.care_set))
    fields["kinds_off"] = [kind for kind in CareKind if kind in e.care_set.kinds_off]
    return CareSetAnswer(id=e.public_id, number=e.number, from_on=e.from_on, entered_by=e.entered_by, entered_at=e.entered_at, **fields)


@router.get("", summary="Every version of the clinic's care set, in the order in which they were entered")
def list_care_sets(request: Request, staff: ApiStaff, wanted: WantedPage) -> Page[CareSetAnswer]:
    with reading(wiring(request).engine) as session:
        return wanted.page(lambda after, limit: map(care_set_answer, store.versions_behind(session, staff.clinic_id, after, limit)))


@router.post("", status_code=201, summary="Enter the next version", response_model=CareSetAnswer, responses=problems(400, 403, 409))
def enter_care_set(staff: ApiAdministrator, once: DoneOnce, body: CareSetBody) -> Response:
    def deed(session: Session, now: datetime) -> CareSetAnswer:
        today = local_today(now, people.clinic(session, staff.clinic_id).time_zone)
        return care_set_answer(store.one(session, staff.clinic_id, actions.enter(session, staff, body.care_set(), body.seen, body.from_on, today, now)))

    return once.make("enter-care-set", body, deed, at=ADDRESS)


@router.get("/{set_id}", summary="One version of the care set", responses=problems(404))
def read_care_set(request: Request, staff: ApiStaff, set_id: str) -> CareSetAnswer:
    with reading(wiring(request).engine) as session:
        return care_set_answer(store.one(session, staff.clinic_id, set_id))
