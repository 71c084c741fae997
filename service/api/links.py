"""Caregivers' links: list, make (the addresses stand in that answer alone), close."""

from datetime import datetime

from fastapi import APIRouter, Request
from fastapi.responses import Response
from pydantic import ConfigDict, Field
from sqlmodel import Session

from service.access import child_of
from service.actions import links as actions
from service.actions.feed import feed_addresses
from service.api.bearer import ApiRegistrar
from service.api.body import Filled, Strict, Whole
from service.api.once import DoneOnce
from service.api.pages import Listed, Page, WantedPage
from service.api.problems import problems
from service.db import reading, writing
from service.facts import Subscription
from service.store import links
from service.wiring import wiring

router = APIRouter(prefix="/children/{child_id}/links", tags=["links"], responses=problems(403, 404))


class NewLink(Strict):
    caregiver: Filled = Field(max_length=60)
    label: Filled = Field(max_length=30, description="the calendar's title, seen by others: never the child's name")
    alarm_hour: Whole | None = Field(None, ge=0, le=23, description="the hour of the day at which the calendar reminds; null: it does not")


class LinkAnswer(Listed):
    model_config = ConfigDict(from_attributes=True)
    caregiver: str
    label: str
    alarm_minutes: int | None = Field(description="after midnight")
    created_at: datetime
    revoked_at: datetime | None
    fetched_at: datetime | None = Field(description="when a calendar last asked for the feed")
    fetched_by: str | None


class NewLinkAnswer(LinkAnswer):
    """The three addresses are secrets. They are kept nowhere: only this answer holds them, and the same request under the same key."""

    feed: str
    webcal: str
    phone: str


def link_answer(s: Subscription) -> LinkAnswer:
    return LinkAnswer(id=s.public_id, **{name: getattr(s, name) for name in LinkAnswer.model_fields if name != "id"})


@router.get("", summary="The links given for a child, without their secrets")
def list_links(request: Request, staff: ApiRegistrar, child_id: str, wanted: WantedPage) -> Page[LinkAnswer]:
    with reading(wiring(request).engine) as session:
        child = child_of(session, staff, child_id)
        return wanted.page(lambda after, limit: map(link_answer, links.subscriptions_behind(session, child, after, limit)))


@router.post("", status_code=201, summary="Give a caregiver a link to the feed and the phone page", response_model=NewLinkAnswer, responses=problems(400))
def make_link(request: Request, staff: ApiRegistrar, once: DoneOnce, child_id: str, body: NewLink) -> Response:
    settings = wiring(request).settings
    feed_token, page_token = once.token("f", body), once.token("p", body)
    feed, webcal = feed_addresses(settings, feed_token)

    def deed(session: Session, now: datetime) -> LinkAnswer:
        child = child_of(session, staff, child_id)
        minutes = None if body.alarm_hour is None else body.alarm_hour * 60
        tokens = (feed_token, page_token)
        made = actions.issue(session, staff, child, caregiver=body.caregiver, label=body.label, alarm_minutes=minutes, now=now, tokens=tokens)
        return link_answer(made.subscription)

    return once.make("issue-link", body, deed, secrets={"feed": feed, "webcal": webcal, "phone": f"{settings.public_url}/family/{page_token}"})


@router.post("/{link_id}/close", status_code=204, summary="Close a link: its addresses stop working at once")
def close_link(request: Request, staff: ApiRegistrar, child_id: str, link_id: str) -> Response:
    w = wiring(request)
    with writing(w.engine) as session:
        actions.revoke(session, staff, child_of(session, staff, child_id), link_id, w.clock.now())
    return Response(status_code=204)
