"""Short signed changes to a plan: a pause, a stop, a treatment break, a telephone extension. Each is a revision of its own."""

from collections.abc import Callable
from datetime import datetime

from fastapi import APIRouter
from fastapi.responses import Response
from pydantic import Field
from sqlmodel import Session

from service.access import child_of
from service.actions import amendments
from service.api.bearer import ApiStaff
from service.api.body import Day, Filled, Strict
from service.api.once import DoneOnce
from service.api.problems import problems
from service.api.regimens import RegimenAnswer, regimen_answer
from service.facts import Child, Staff
from service.store import signed
from shared.vocabulary import Phase

router = APIRouter(prefix="/children/{child_id}", tags=["regimens"], responses=problems(400, 403, 404))


class Stop(Strict):
    reason: Filled = Field(max_length=300)


class Pause(Stop):
    review_on: Day = Field(description="when it is looked at again")


class Break(Stop):
    """Half-open days: the patch goes on again on `until_on`."""

    from_on: Day
    until_on: Day


class Extension(Stop):
    review_on: Day = Field(description="the last day's minutes go on until then")


def _sign(once: DoneOnce, staff: Staff, child_id: str, body: Stop, change: Callable[[Session, Child, datetime], str]) -> Response:
    def deed(session: Session, now: datetime) -> RegimenAnswer:
        child = child_of(session, staff, child_id)
        return regimen_answer(signed.regimen(session, child, change(session, child, now)))

    return once.make("sign-change", body, deed, at=f"/api/children/{child_id}/regimens")


@router.post("/pause", status_code=201, summary="Sign a pause, from today", response_model=RegimenAnswer)
def pause(staff: ApiStaff, once: DoneOnce, child_id: str, body: Pause) -> Response:
    return _sign(once, staff, child_id, body, lambda s, child, now: amendments.decide(s, staff, child, Phase.PAUSE, body.review_on, body.reason, now))


@router.post("/stop", status_code=201, summary="Sign a stop, from today", response_model=RegimenAnswer)
def stop(staff: ApiStaff, once: DoneOnce, child_id: str, body: Stop) -> Response:
    return _sign(once, staff, child_id, body, lambda s, child, now: amendments.decide(s, staff, child, Phase.STOP, None, body.reason, now))


@router.post("/break", status_code=201, summary="Sign a treatment break of some days within the plan", response_model=RegimenAnswer)
def take_break(staff: ApiStaff, once: DoneOnce, child_id: str, body: Break) -> Response:
    return _sign(once, staff, child_id, body, lambda s, child, now: amendments.take_break(s, staff, child, body.from_on, body.until_on, body.reason, now))


@router.post("/extension", status_code=201, summary="Carry the plan on for a little while by telephone, once", response_model=RegimenAnswer)
def extend(staff: ApiStaff, once: DoneOnce, child_id: str, body: Extension) -> Response:
    return _sign(once, staff, child_id, body, lambda s, child, now: amendments.extend(s, staff, child, body.review_on, body.reason, now))
