"""What families told the clinic between visits, and what became of it."""

from datetime import datetime

from fastapi import APIRouter, Request
from fastapi.responses import Response
from pydantic import Field

from service.actions import tellings as actions
from service.api.bearer import ApiRecorder, ApiStaff
from service.api.body import Line, Strict
from service.api.pages import Listed, Page, WantedPage
from service.api.problems import problems
from service.db import reading, writing
from service.facts_of_tellings import About, Telling
from service.store import tellings
from service.wiring import wiring
from shared.vocabulary import Laterality

router = APIRouter(prefix="/inbox", tags=["inbox"], responses=problems(404))


class TellingAnswer(Listed):
    child_id: str
    child_name: str
    caregiver: str
    about: About
    eye: Laterality | None = Field(description="of the lens, where it is about one")
    text: str
    told_at: datetime
    taken_by: str = Field(description="empty: nobody")
    taken_at: datetime | None
    closed_by: str
    closed_at: datetime | None
    answer: str = Field(description="what the family reads")
    note: str = Field(description="for the staff alone")


class Closing(Strict):
    answer: Line = Field("", max_length=actions.LONGEST, description="what the family reads; one of the two says what was done")
    note: Line = Field("", max_length=actions.LONGEST, description="for the staff alone")


def telling_answer(t: Telling) -> TellingAnswer:
    fields = {name: value for name, value in vars(t).items() if name in TellingAnswer.model_fields}
    return TellingAnswer(id=t.public_id, child_id=t.child_public_id, **fields)


@router.get("", summary="All that families ever told, oldest first")
def list_tellings(request: Request, staff: ApiStaff, wanted: WantedPage) -> Page[TellingAnswer]:
    with reading(wiring(request).engine) as session:
        return wanted.page(lambda after, limit: map(telling_answer, tellings.behind(session, staff.clinic_id, after, limit)))


@router.post("/{telling_id}/take", status_code=204, summary="Take what a family told; the family sees that it is read")
def take_telling(request: Request, staff: ApiStaff, telling_id: str) -> Response:
    w = wiring(request)
    with writing(w.engine) as session:
        actions.take(session, staff, telling_id, w.clock.now())
    return Response(status_code=204)


@router.post("/{telling_id}/close", summary="Close what a family told, with an answer to it or a note for the staff", responses=problems(403))
def close_telling(request: Request, staff: ApiRecorder, telling_id: str, body: Closing) -> TellingAnswer:
    w = wiring(request)
    with writing(w.engine) as session:
        actions.close(session, staff, telling_id, body.answer, body.note, w.clock.now())
        return telling_answer(tellings.one(session, staff.clinic_id, telling_id))
