"""The clinic's own protocols: list, enter, change, end. Each change is a version from a day on."""

from collections.abc import Callable
from datetime import date, datetime

from fastapi import APIRouter, Request
from fastapi.responses import Response
from pydantic import BaseModel, ConfigDict, Field
from sqlmodel import Session

from service.actions import clinic_protocols as actions
from service.api.bearer import ApiAdministrator, ApiStaff
from service.api.body import Day, Filled, Line, Strict, Whole
from service.api.once import DoneOnce, Once
from service.api.pages import Listed, Page, WantedPage
from service.api.problems import problems
from service.clock import local_today
from service.db import reading
from service.facts import Staff
from service.facts_of_protocols import EnteredProtocol
from service.store import clinic_protocols as store
from service.store import people
from service.wiring import wiring
from shared.sight.severity import Severity
from shared.treatment.clinic_protocol import LONGEST_REVIEW_WEEKS, MOST_MINUTES, OLDEST_MONTHS, ClinicProtocol
from shared.treatment.protocol_words import BandSet, Pattern
from shared.vocabulary import Aetiology

ADDRESS = "/api/protocols"
router = APIRouter(prefix="/protocols", tags=["clinic"])


class ProtocolFields(BaseModel):
    """For whom (ages in completed months, half-open; null: any) and how much: either minutes a day or a percentage of the waking hours."""

    model_config = ConfigDict(from_attributes=True)
    author: str
    reference: str
    aetiology: Aetiology | None
    from_month: int
    below_month: int
    band_set: BandSet | None
    severity: Severity | None
    minutes: int | None
    waking_percent: int | None
    pattern: Pattern
    review_weeks: int
    near_work: str


class ProtocolBody(Strict):
    """Either `minutes` or `waking_percent`; a severity goes with the set whose word it is."""

    from_on: Day = Field(description="today or later: what holds on past days is never changed")
    author: Filled = Field(max_length=120, description="who answers for it")
    reference: Filled = Field(max_length=300, description="where it is written down")
    aetiology: Aetiology | None = Field(None, description="null: any")
    from_month: Whole = Field(ge=0, le=OLDEST_MONTHS, description="completed months")
    below_month: Whole = Field(ge=0, le=OLDEST_MONTHS, description="completed months; not included")
    band_set: BandSet | None = None
    severity: Severity | None = None
    minutes: Whole | None = Field(None, ge=1, le=MOST_MINUTES)
    waking_percent: Whole | None = Field(None, ge=1, le=100)
    pattern: Pattern = Pattern.DAILY
    review_weeks: Whole = Field(ge=1, le=LONGEST_REVIEW_WEEKS)
    near_work: Line = Field("", max_length=300)

    def protocol(self, name: str) -> ClinicProtocol:
        return ClinicProtocol(name=name, **self.model_dump(exclude={"from_on", "name"}))


class NewProtocol(ProtocolBody):
    name: Filled = Field(max_length=60, description="of the clinic's own choosing, once a clinic")


class ProtocolEnd(Strict):
    from_on: Day = Field(description="from this day on there is no such protocol")


class ProtocolAnswer(ProtocolFields, Listed):
    """One version of a protocol. On any day the version that began last holds. Its status is common practice."""

    name: str
    number: int = Field(description="of the version, from 1")
    from_on: date
    ended: bool = Field(description="from then on there is no such protocol")
    entered_by: str
    entered_at: datetime


def protocol_answer(e: EnteredProtocol) -> ProtocolAnswer:
    return ProtocolAnswer(
        id=e.public_id,
        name=e.protocol.name,
        number=e.number,
        from_on=e.from_on,
        ended=e.ended,
        entered_by=e.entered_by,
        entered_at=e.entered_at,
        **dict(ProtocolFields.model_validate(e.protocol)),
    )


def _take(once: Once, staff: Staff, action: str, body: BaseModel, deed: Callable[[Session, date, datetime], str]) -> Response:
    def take(session: Session, now: datetime) -> ProtocolAnswer:
        today = local_today(now, people.clinic(session, staff.clinic_id).time_zone)
        return protocol_answer(store.one(session, staff.clinic_id, deed(session, today, now)))

    return once.make(action, body, take, at=ADDRESS)


@router.get("", summary="Every version of the clinic's protocols, in the order in which they were entered")
def list_protocols(request: Request, staff: ApiStaff, wanted: WantedPage) -> Page[ProtocolAnswer]:
    with reading(wiring(request).engine) as session:
        return wanted.page(lambda after, limit: map(protocol_answer, store.protocols_behind(session, staff.clinic_id, after, limit)))


@router.post("", status_code=201, summary="Enter a protocol of a new name", response_model=ProtocolAnswer, responses=problems(400, 403, 409))
def enter_protocol(staff: ApiAdministrator, once: DoneOnce, body: NewProtocol) -> Response:
    return _take(once, staff, "enter-protocol", body, lambda s, today, now: actions.enter(s, staff, body.protocol(body.name), body.from_on, today, now))


@router.get("/{protocol_id}", summary="One version of a protocol", responses=problems(404))
def read_protocol(request: Request, staff: ApiStaff, protocol_id: str) -> ProtocolAnswer:
    with reading(wiring(request).engine) as session:
        return protocol_answer(store.one(session, staff.clinic_id, protocol_id))


@router.post(
    "/{protocol_id}/change",
    status_code=201,
    summary="The version after this one; 409 where there is one already",
    response_model=ProtocolAnswer,
    responses=problems(400, 403, 404, 409),
)
def change_protocol(staff: ApiAdministrator, once: DoneOnce, protocol_id: str, body: ProtocolBody) -> Response:
    def deed(session: Session, today: date, now: datetime) -> str:
        seen = store.one(session, staff.clinic_id, protocol_id)
        return actions.change(session, staff, seen, body.protocol(seen.protocol.name), body.from_on, today, now)

    return _take(once, staff, "change-protocol", body, deed)


@router.post(
    "/{protocol_id}/end",
    status_code=201,
    summary="End a protocol from a day on; 409 where this is no longer its newest version",
    response_model=ProtocolAnswer,
    responses=problems(400, 403, 404, 409),
)
def end_protocol(staff: ApiAdministrator, once: DoneOnce, protocol_id: str, body: ProtocolEnd) -> Response:
    def deed(session: Session, today: date, now: datetime) -> str:
        return actions.end(session, staff, store.one(session, staff.clinic_id, protocol_id), body.from_on, today, now)

    return _take(once, staff, "end-protocol", body, deed)
