"""Links for a nursery or a school: list, make (the address stands in that answer alone), close."""

from datetime import date, datetime

from fastapi import APIRouter, Request
from fastapi.responses import Response
from pydantic import ConfigDict, Field
from sqlmodel import Session

from service.access import child_of
from service.actions import nursery_links as actions
from service.api.bearer import ApiRegistrar
from service.api.body import Day, Filled, Strict
from service.api.once import DoneOnce
from service.api.pages import Listed, Page, WantedPage
from service.api.problems import problems
from service.db import reading, writing
from service.facts import NurseryLink
from service.store import nursery_links
from service.wiring import wiring

router = APIRouter(prefix="/children/{child_id}/nursery-links", tags=["links"], responses=problems(403, 404))


class NewNurseryLink(Strict):
    place: Filled = Field(max_length=60)
    label: Filled = Field(max_length=30, description="what the page calls the child: never its name")
    until_on: Day = Field(description="the last day on which it opens; no further off than 26 weeks")


class NurseryLinkAnswer(Listed):
    model_config = ConfigDict(from_attributes=True)
    place: str
    label: str
    until_on: date
    created_at: datetime
    revoked_at: datetime | None


class NewNurseryLinkAnswer(NurseryLinkAnswer):
    """The address is a secret. It is kept nowhere: only this answer holds it, and the same request under the same key."""

    page: str


def link_answer(link: NurseryLink) -> NurseryLinkAnswer:
    return NurseryLinkAnswer(id=link.public_id, **{name: getattr(link, name) for name in NurseryLinkAnswer.model_fields if name != "id"})


@router.get("", summary="The links given to nurseries and schools for a child, without their secrets")
def list_nursery_links(request: Request, staff: ApiRegistrar, child_id: str, wanted: WantedPage) -> Page[NurseryLinkAnswer]:
    with reading(wiring(request).engine) as session:
        child = child_of(session, staff, child_id)
        return wanted.page(lambda after, limit: map(link_answer, nursery_links.given_behind(session, child, after, limit)))


@router.post("", status_code=201, summary="Give a nursery or a school a link to today", response_model=NewNurseryLinkAnswer, responses=problems(400))
def make_nursery_link(request: Request, staff: ApiRegistrar, once: DoneOnce, child_id: str, body: NewNurseryLink) -> Response:
    token = once.token("n", body)

    def deed(session: Session, now: datetime) -> NurseryLinkAnswer:
        child = child_of(session, staff, child_id)
        link, _ = actions.give(session, staff, child, place=body.place, label=body.label, until_on=body.until_on, now=now, token=token)
        return link_answer(link)

    return once.make("give-nursery-link", body, deed, secrets={"page": f"{wiring(request).settings.public_url}/nursery/{token}"})


@router.post("/{nursery_id}/close", status_code=204, summary="Close a nursery's link: its address stops working at once")
def close_nursery_link(request: Request, staff: ApiRegistrar, child_id: str, nursery_id: str) -> Response:
    w = wiring(request)
    with writing(w.engine) as session:
        actions.revoke(session, staff, child_of(session, staff, child_id), nursery_id, w.clock.now())
    return Response(status_code=204)
