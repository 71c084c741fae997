"""What waits for whoever signed, or for the whole clinic, until somebody has seen it."""

from datetime import datetime

from fastapi import APIRouter, Request
from fastapi.responses import Response
from pydantic import Field

from service.api.bearer import ApiRecorder
from service.api.body import SPEAK
from service.api.pages import Listed, Page, WantedPage
from service.api.problems import problems
from service.db import reading, writing
from service.facts_of_care import Notice
from service.store import notices
from service.wiring import wiring

router = APIRouter(prefix="/notices", tags=["bookings"], responses=problems(403))


class NoticeAnswer(Listed):
    child_id: str
    child_name: str
    urgent: bool = Field(description="of an infant, whose days weigh most")
    message: str
    to_signer: bool = Field(description="to you alone, who signed; else to the whole clinic")
    made_at: datetime


def notice_answer(n: Notice) -> NoticeAnswer:
    return NoticeAnswer(
        id=n.public_id,
        child_id=n.child_public_id,
        child_name=n.child_name,
        urgent=n.urgent,
        message=SPEAK.text(n.message),
        to_signer=n.to_signer,
        made_at=n.made_at,
    )


@router.get("", summary="What nobody has marked as seen, to the bearer of this token or to the clinic; oldest first")
def list_notices(request: Request, staff: ApiRecorder, wanted: WantedPage) -> Page[NoticeAnswer]:
    with reading(wiring(request).engine) as session:
        return wanted.page(lambda after, limit: map(notice_answer, notices.notices_behind(session, staff, after, limit)))


@router.post("/{notice_id}/seen", status_code=204, summary="Mark a notice as seen", responses=problems(404))
def mark_notice_seen(request: Request, staff: ApiRecorder, notice_id: str) -> Response:
    w = wiring(request)
    with writing(w.engine) as session:
        notices.mark_seen(session, staff, notice_id, w.clock.now())
    return Response(status_code=204)
