"""One caregiver's reminders, and what became of a child's messages. A device is added on the device itself, so only e-mail and telephone stand here."""

from datetime import date, datetime
from enum import StrEnum
from typing import Self

from fastapi import APIRouter, Request
from fastapi.responses import Response
from pydantic import BaseModel, Field
from sqlmodel import Session

from schedules.feed_style import EARLIEST_REMINDER_MINUTES, LAST_MINUTE_OF_A_DAY
from schedules.reminders import CHOSEN, ReminderKind, Wishes
from service.access import child_of
from service.actions import contacts as actions
from service.api.bearer import ApiRegistrar, ApiStaff
from service.api.body import SPEAK, Filled, Strict, Whole
from service.api.once import DoneOnce
from service.api.pages import Listed, Page, WantedPage
from service.api.problems import problems
from service.db import reading, writing
from service.facts import Staff
from service.facts_of_messages import ChannelName, Contact, DeliveryState
from service.store import contacts, links
from service.views import case, reminders_page
from service.wiring import wiring

router = APIRouter(prefix="/children/{child_id}", tags=["messages"], responses=problems(403, 404))

KindChosen = StrEnum("KindChosen", {kind.name: kind.value for kind in CHOSEN})  # type: ignore[misc]  # those that may be done without


class Reminders(Strict):
    """What a caregiver wishes to be told, the whole of it. Times are minutes after midnight; a pause and a stop are told whatever is wished."""

    kinds: list[KindChosen] = Field(max_length=len(CHOSEN))
    lead_minutes: Whole = Field(ge=0, le=EARLIEST_REMINDER_MINUTES, description="before each session")
    day_minutes: Whole = Field(ge=0, le=LAST_MINUTE_OF_A_DAY, description="the hour of what has none of its own")
    evening_minutes: Whole = Field(ge=0, le=LAST_MINUTE_OF_A_DAY, description="when it is asked after, while nothing is noted")
    quiet_from_minutes: Whole = Field(ge=0, le=LAST_MINUTE_OF_A_DAY)
    quiet_until_minutes: Whole = Field(ge=0, le=LAST_MINUTE_OF_A_DAY, description="the quiet hours may cross midnight; both the same: none")

    def wishes(self) -> Wishes:
        return Wishes(**dict(self) | {"kinds": frozenset(ReminderKind(kind.value) for kind in self.kinds)})

    @classmethod
    def of(cls, wishes: Wishes) -> Self:
        return cls(**vars(wishes) | {"kinds": [KindChosen(kind.value) for kind in CHOSEN if kind in wishes.kinds]})


class ContactChannel(StrEnum):
    EMAIL = "email"
    TEXT_MESSAGE = "text-message"


class NewContact(Strict):
    channel: ContactChannel
    address: Filled = Field(max_length=254, description="an e-mail address, or a telephone number with + and the country")


class ContactAnswer(Listed):
    """Of a device, `address` is no more than the host of its browser's maker: the rest is a secret."""

    channel: ChannelName
    address: str
    added_at: datetime
    reminders_off_at: datetime | None = Field(description="no reminders here since; a pause and a stop are told all the same")
    refused_at: datetime | None = Field(description="when it was refused for good; null: not when last tried")


class DeliveryAnswer(BaseModel):
    """One message to one address, which is not named."""

    caregiver: str
    channel: ChannelName | None = Field(description="null: no address takes it")
    kind: ReminderKind
    on: date | None
    due_at: datetime
    sent_at: datetime | None
    state: DeliveryState
    error: str | None = Field(description="the class of what went wrong last")


class MessagesAnswer(BaseModel):
    late_since: datetime | None = Field(description="messages of the clinic that should have gone by now wait since then; null: all goes as it should")
    unreached: bool = Field(description="a plan runs, and no message, calendar or page has reached the family for a week")
    messages: list[DeliveryAnswer] = Field(description="the newest thirty, the newest first; none that is still to come")


def contact_answer(c: Contact) -> ContactAnswer:
    return ContactAnswer(
        id=c.public_id,
        channel=c.channel,
        address=reminders_page.shown_address(c),
        added_at=c.added_at,
        reminders_off_at=c.off_at,
        refused_at=c.bounced_at,
    )


@router.get("/messages", summary="What became of a child's messages")
def read_messages(request: Request, staff: ApiStaff, child_id: str) -> MessagesAnswer:
    w = wiring(request)
    now = w.clock.now()
    with reading(w.engine) as session:
        child = child_of(session, staff, child_id)
        lines = reminders_page.lines(session, child, SPEAK, now)
        return MessagesAnswer(
            late_since=reminders_page.late_since(session, child.clinic_id, now),
            unreached=reminders_page.unreached(session, case.load(session, child, now), now),
            messages=[
                DeliveryAnswer(caregiver=line.caregiver, **{name: getattr(line.delivery, name) for name in DeliveryAnswer.model_fields if name != "caregiver"})
                for line in lines
            ],
        )


@router.get("/links/{link_id}/reminders", summary="What a caregiver wishes to be told")
def read_reminders(request: Request, staff: ApiRegistrar, child_id: str, link_id: str) -> Reminders:
    with reading(wiring(request).engine) as session:
        return Reminders.of(links.open_subscription(session, child_of(session, staff, child_id), link_id).wishes)


@router.put("/links/{link_id}/reminders", summary="Say what a caregiver wishes to be told")
def set_reminders(request: Request, staff: ApiRegistrar, child_id: str, link_id: str, body: Reminders) -> Reminders:
    w = wiring(request)
    with writing(w.engine) as session:
        child = child_of(session, staff, child_id)
        return Reminders.of(actions.set_wishes(session, staff, child, link_id, body.wishes(), w.clock.now()).wishes)


@router.get("/links/{link_id}/contacts", summary="Where a caregiver can be reached")
def list_contacts(request: Request, staff: ApiRegistrar, child_id: str, link_id: str, wanted: WantedPage) -> Page[ContactAnswer]:
    with reading(wiring(request).engine) as session:
        link = links.open_subscription(session, child_of(session, staff, child_id), link_id)
        return wanted.page(lambda after, limit: map(contact_answer, contacts.behind(session, link, after, limit)))


@router.post("/links/{link_id}/contacts", status_code=201, summary="Add an address", response_model=ContactAnswer, responses=problems(400))
def add_contact(staff: ApiRegistrar, once: DoneOnce, child_id: str, link_id: str, body: NewContact) -> Response:
    add = actions.add_email if body.channel is ContactChannel.EMAIL else actions.add_number

    def deed(session: Session, now: datetime) -> ContactAnswer:
        link = links.open_subscription(session, child_of(session, staff, child_id), link_id)
        return contact_answer(add(session, staff, link, body.address, now, field="address"))

    return once.make("add-contact", body, deed)


@router.post(
    "/links/{link_id}/contacts/{contact_id}/reminders-off", status_code=204, summary="No reminders at an address; what is essential comes all the same"
)
def turn_reminders_off(request: Request, staff: ApiRegistrar, child_id: str, link_id: str, contact_id: str) -> Response:
    return _turn(request, staff, child_id, link_id, contact_id, on=False)


@router.post("/links/{link_id}/contacts/{contact_id}/reminders-on", status_code=204, summary="Reminders at an address again")
def turn_reminders_on(request: Request, staff: ApiRegistrar, child_id: str, link_id: str, contact_id: str) -> Response:
    return _turn(request, staff, child_id, link_id, contact_id, on=True)


@router.post("/links/{link_id}/contacts/{contact_id}/remove", status_code=204, summary="Take an address away")
def remove_contact(request: Request, staff: ApiRegistrar, child_id: str, link_id: str, contact_id: str) -> Response:
    w = wiring(request)
    with writing(w.engine) as session:
        link = links.open_subscription(session, child_of(session, staff, child_id), link_id)
        actions.remove(session, staff, link, contact_id, w.clock.now())
    return Response(status_code=204)


def _turn(request: Request, staff: Staff, child_id: str, link_id: str, contact_id: str, *, on: bool) -> Response:
    w = wiring(request)
    with writing(w.engine) as session:
        link = links.open_subscription(session, child_of(session, staff, child_id), link_id)
        actions.turn(session, staff, link, contact_id, on, w.clock.now())
    return Response(status_code=204)
