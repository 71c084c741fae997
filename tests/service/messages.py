"""A caregiver with an address, and a channel that takes down what it is given or fails as it is told."""

from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from sqlalchemy import Engine

from service.actions.delivery import Post
from service.actions.links import NewLink
from service.clock import Clock
from service.db import reading, writing
from service.facts import Child
from service.facts_of_messages import ChannelName, Contact
from service.messages.channel import Outgoing
from service.rendering import Renderer
from service.settings import Settings
from service.store import contacts, links, outbox


@dataclass
class Recorder:
    """Fails for an address as long as there is a failure left for it."""

    name: ChannelName = ChannelName.EMAIL
    sent: list[Outgoing] = field(default_factory=list)
    failures: dict[str, list[Exception]] = field(default_factory=dict)

    def reaches(self, contact: Contact) -> bool:
        return contact.reaches

    async def send(self, message: Outgoing) -> None:
        if waiting := self.failures.get(message.to.address):
            raise waiting.pop(0)
        self.sent.append(message)

    def texts(self) -> list[str]:
        return [m.text for m in self.sent]


def post(engine: Engine, settings: Settings, clock: Clock, *channels: Any, chance: float = 0.5) -> Post:
    return Post(engine, settings, clock, Renderer(settings), {c.name: c for c in channels}, lambda: chance)


def add_contact(
    engine: Engine, link: NewLink, now: datetime, address: str = "home@family.example", channel: ChannelName = ChannelName.EMAIL, **keys: str
) -> Contact:
    with writing(engine) as session:
        links.plan_reminders_anew(session, link.subscription.id)
        return contacts.save(session, link.subscription, channel, address, {}, now)


def standing(engine: Engine, child: Child) -> list[tuple[str, str]]:
    with reading(engine) as session:
        return outbox.states(session, child)
