"""The clinic's own table for near: list, enter, read. Each change is a version from a day on."""

from datetime import date, datetime

from fastapi import APIRouter, Request
from fastapi.responses import Response
from pydantic import BaseModel, ConfigDict, Field
from sqlmodel import Session

from service.actions import near_tables as actions
from service.api.bearer import ApiRangeKeeper, ApiStaff
from service.api.body import Day, Line, Number, Strict, Whole
from service.api.once import DoneOnce
from service.api.pages import Listed, Page, WantedPage
from service.api.problems import problems
from service.clock import local_today
from service.db import reading
from service.facts_of_lenses import EnteredNearTable
from service.store import near_tables as store
from service.store import people
from service.wiring import wiring
from shared.optics.near import MOST_ROWS, NearRow, NearTable
from shared.vocabulary import Status

ADDRESS = "/api/near-tables"
router = APIRouter(prefix="/near-tables", tags=["lenses"])


class NearRowBody(Strict):
    """From an age on: what is added in the lens; 0 D: distance power, and bifocal spectacles."""

    from_month: Whole
    dioptres: Number


class TableBody(Strict):
    from_on: Day = Field(description="today or later: what holds on past days is never changed")
    near_rows: list[NearRowBody] = Field([], max_length=MOST_ROWS, description="by age, the first from 0 months; empty: the built-in table")
    author: Line = Field("", max_length=200, description="whose table it is, or where it was taken from; needed with one")
    seen: Whole = Field(ge=0, description="`number` of the newest version that was read, 0 where there was none; 409 where there is a newer one")

    def near_table(self) -> NearTable:
        return actions.table_of(tuple(NearRow(row.from_month, row.dioptres) for row in self.near_rows), self.author)


class NearRowAnswer(BaseModel):
    model_config = ConfigDict(from_attributes=True)
    from_month: int
    dioptres: float


class NearTableAnswer(Listed):
    """One version. On any day the version that began last holds."""

    number: int = Field(description="of the version, from 1")
    from_on: date
    near_rows: list[NearRowAnswer]
    author: str = Field(description="empty: the built-in table")
    status: Status = Field(description="how well the table is known")
    entered_by: str
    entered_at: datetime


def near_table_answer(e: EnteredNearTable) -> NearTableAnswer:
    near = e.near_table
    return NearTableAnswer(
        id=e.public_id,
        number=e.number,
        from_on=e.from_on,
        near_rows=[NearRowAnswer.model_validate(row) for row in near.rows],
        author=near.author,
        status=near.status,
        entered_by=e.entered_by,
        entered_at=e.entered_at,
    )


@router.get("", summary="Every version of the clinic's table for near, in the order in which they were entered")
def list_near_tables(request: Request, staff: ApiStaff, wanted: WantedPage) -> Page[NearTableAnswer]:
    with reading(wiring(request).engine) as session:
        return wanted.page(lambda after, limit: map(near_table_answer, store.versions_behind(session, staff.clinic_id, after, limit)))


@router.post("", status_code=201, summary="Enter the next version", response_model=NearTableAnswer, responses=problems(400, 403, 409))
def enter_near_table(staff: ApiRangeKeeper, once: DoneOnce, body: TableBody) -> Response:
    def deed(session: Session, now: datetime) -> NearTableAnswer:
        today = local_today(now, people.clinic(session, staff.clinic_id).time_zone)
        return near_table_answer(store.one(session, staff.clinic_id, actions.enter(session, staff, body.near_table(), body.seen, body.from_on, today, now)))

    return once.make("enter-near-table", body, deed, at=ADDRESS)


@router.get("/{table_id}", summary="One version of the table", responses=problems(404))
def read_near_table(request: Request, staff: ApiStaff, table_id: str) -> NearTableAnswer:
    with reading(wiring(request).engine) as session:
        return near_table_answer(store.one(session, staff.clinic_id, table_id))
