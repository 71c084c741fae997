"""What a channel is. Another one is a class with these three and a line in `configured.py`."""

from dataclasses import dataclass
from datetime import datetime
from typing import Protocol

from service.facts_of_messages import ChannelName, Contact

SEND_WITHIN_SECONDS = 20


@dataclass(frozen=True)
class Outgoing:
    """A message ready to go. `key` is the same whenever the same message is sent again, so that a device shows one."""

    key: str  # 32 characters of base64url
    to: Contact
    language: str
    title: str
    subject: str
    text: str
    html: str
    link: str
    off_link: str  # a POST to it turns reminders off at this address
    sent_at: datetime
    lasts_seconds: int  # after which nobody should be told any more


class ChannelError(Exception):
    """`kind` is what is kept of it: a class, never an address or what a server said."""

    def __init__(self, kind: str) -> None:
        super().__init__(kind)
        self.kind = kind


class TemporaryFailureError(ChannelError):
    """Worth another attempt."""


class PermanentFailureError(ChannelError):
    """Refused for good; `of_address`: whatever the message, so that the clinic should know."""

    def __init__(self, kind: str, *, of_address: bool = False) -> None:
        super().__init__(kind)
        self.of_address = of_address


class GoneError(ChannelError):
    """The device does not know this subscription any more; others of the same caregiver may."""


class Channel(Protocol):
    @property
    def name(self) -> ChannelName: ...

    def reaches(self, contact: Contact) -> bool: ...

    async def send(self, message: Outgoing) -> None:
        """Returns once it is handed over. Raises one of the three failures, and nothing else."""
        ...
