"""The channels that an installation has."""

from collections.abc import Mapping
from dataclasses import dataclass
from urllib.parse import urlsplit

from service.facts_of_messages import ChannelName, Contact
from service.messages import web_push
from service.messages.channel import Channel, Outgoing
from service.messages.email import EmailChannel
from service.messages.text_message import TextMessageChannel
from service.settings import Settings

Channels = Mapping[ChannelName, Channel]


@dataclass(frozen=True)
class OutboxPageChannel:
    """The demo's: nothing leaves the machine, and the page of the outbox shows what would have."""

    name: ChannelName

    def reaches(self, contact: Contact) -> bool:
        return contact.channel is self.name and contact.reaches

    async def send(self, message: Outgoing) -> None:
        """Taken, always."""


def channels(settings: Settings) -> Channels:
    if settings.demo:
        return {name: OutboxPageChannel(name) for name in ChannelName}
    found: list[Channel] = []
    if settings.smtp_url:
        found.append(EmailChannel(settings.smtp_url, settings.mail_from, urlsplit(settings.public_url).hostname or "localhost"))
    if settings.vapid_private_key:
        found.append(web_push.WebPushChannel(settings.vapid_private_key, settings.vapid_contact))
    if settings.text_gateway_url:
        found.append(TextMessageChannel(settings.text_gateway_url, settings.text_gateway_secret))
    return {channel.name: channel for channel in found}
