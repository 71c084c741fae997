"""Caregivers' links: list, make (the addresses stand in that answer alone), close."""

from datetime import datetime

from fastapi import APIRouter, Request
from fastapi.responses import Response
from pydantic import Field
from sqlmodel import Session

from schedules.feed_style import (
    EARLIEST_REMINDER_MINUTES,
    LAST_MINUTE_OF_A_DAY,
    LONGEST_LABEL,
    LONGEST_WORD,
    USUAL_CARE,
    CareGroup,
    Colour,
    FeedStyle,
    Language,
    Shown,
)
from service.access import child_of
from service.actions import links as actions
from service.actions.feed import feed_addresses
from service.api.bearer import ApiRegistrar
from service.api.body import Filled, Line, Strict, Truth, Whole
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
    label: Filled = Field(max_length=LONGEST_LABEL, description="the calendar's title, seen by others: never the child's name")
    alarm_hour: Whole | None = Field(None, ge=0, le=23, description="the hour of the day at which the calendar reminds; null: it does not")


class Calendar(Strict):
    """How one person's calendar is wanted, the whole of it."""

    label: Filled = Field(max_length=LONGEST_LABEL, description="what patching is called, seen by others: never the child's name")
    word: Line = Field("", max_length=LONGEST_WORD, description="the family's own word for the child, before each title; empty: none")
    shown: Shown = Shown.ALL_DAY
    alarm_minutes: Whole | None = Field(None, ge=0, le=LAST_MINUTE_OF_A_DAY, description="of all-day entries, after the midnight that begins the day")
    session_alarm_minutes: Whole | None = Field(None, ge=0, le=EARLIEST_REMINDER_MINUTES, description="before each session")
    care: list[CareGroup] = Field(sorted(USUAL_CARE), max_length=len(CareGroup), description="what of the care beside patching it shows")
    done_shown: Truth = Field(False, description="whether a day is marked whose minutes were noted")
    colour: Colour = Colour.TEAL
    language: Language = Language.ENGLISH

    def style(self) -> FeedStyle:
        return FeedStyle(**dict(self) | {"care": frozenset(self.care)})


class LinkAnswer(Listed):
    caregiver: str
    calendar: Calendar
    sees_others: bool = Field(description="whether this adult sees what the others noted")
    created_at: datetime
    revoked_at: datetime | None
    fetched_at: datetime | None = Field(description="when a calendar last asked for the feed")
    fetched_by: str | None


class SeesOthers(Strict):
    sees_others: Truth = Field(description="false: this adult sees, and may change, only what was noted through this link, as between homes apart")


class NewAddress(Strict):
    """Nothing needs to be said: the link's address says which calendar moves."""


class NewAddressAnswer(Listed):
    """Both addresses are secrets and kept nowhere."""

    feed: str
    webcal: str


class NewLinkAnswer(LinkAnswer):
    """The three addresses are secrets. They are kept nowhere: only this answer holds them, and the same request under the same key."""

    feed: str
    webcal: str
    phone: str


def link_answer(s: Subscription) -> LinkAnswer:
    calendar = Calendar(**vars(s.style) | {"care": sorted(s.style.care)})
    return LinkAnswer(
        id=s.public_id,
        caregiver=s.caregiver,
        calendar=calendar,
        sees_others=s.sees_others,
        created_at=s.created_at,
        revoked_at=s.revoked_at,
        fetched_at=s.fetched_at,
        fetched_by=s.fetched_by,
    )


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
        made = actions.issue(session, staff, child, caregiver=body.caregiver, style=FeedStyle(body.label, alarm_minutes=minutes), now=now, tokens=tokens)
        return link_answer(made.subscription)

    return once.make("issue-link", body, deed, secrets={"feed": feed, "webcal": webcal, "phone": f"{settings.public_url}/family/{page_token}"})


@router.put("/{link_id}/calendar", summary="Say how a link's calendar is wanted: what it shows, its words and its alarms")
def set_calendar(request: Request, staff: ApiRegistrar, child_id: str, link_id: str, body: Calendar) -> LinkAnswer:
    w = wiring(request)
    with writing(w.engine) as session:
        child = child_of(session, staff, child_id)
        return link_answer(actions.set_style(session, staff, child, link_id, body.style(), w.clock.now()))


@router.put("/{link_id}/sees-others", summary="Say whether this adult sees what the others noted; the dose counts all of it")
def set_sees_others(request: Request, staff: ApiRegistrar, child_id: str, link_id: str, body: SeesOthers) -> LinkAnswer:
    w = wiring(request)
    with writing(w.engine) as session:
        child = child_of(session, staff, child_id)
        return link_answer(actions.set_sees_others(session, staff, child, link_id, body.sees_others, w.clock.now()))


@router.post(
    "/{link_id}/addresses",
    status_code=201,
    summary="Give a calendar another address: the one before says so for 14 days and shows nothing else",
    response_model=NewAddressAnswer,
    responses=problems(400),
)
def rotate_calendar(request: Request, staff: ApiRegistrar, once: DoneOnce, child_id: str, link_id: str, body: NewAddress) -> Response:
    feed_token = once.token("f", body)
    feed, webcal = feed_addresses(wiring(request).settings, feed_token)

    def deed(session: Session, now: datetime) -> Listed:
        actions.rotate(session, staff, child_of(session, staff, child_id), link_id, now, feed_token)
        return Listed(id=link_id)

    return once.make("rotate-calendar", body, deed, f"/api/children/{child_id}/links", secrets={"feed": feed, "webcal": webcal})


@router.post("/{link_id}/close", status_code=204, summary="Close a link: its addresses stop working at once")
def close_link(request: Request, staff: ApiRegistrar, child_id: str, link_id: str) -> Response:
    w = wiring(request)
    with writing(w.engine) as session:
        actions.revoke(session, staff, child_of(session, staff, child_id), link_id, w.clock.now())
    return Response(status_code=204)
