"""Stored facts about messages: where a caregiver can be reached, and what became of each message."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum
from typing import Any

from schedules.reminders import ReminderKind


class ChannelName(StrEnum):
    EMAIL = "email"
    WEB_PUSH = "web-push"
    TEXT_MESSAGE = "text-message"


class DeliveryState(StrEnum):
    PENDING = "pending"
    SENT = "sent"
    CANCELLED = "cancelled"  # not needed any more when its time came
    EXPIRED = "expired"
    DEAD = "dead"  # given up
    UNREACHED = "unreached"  # nobody could be told: no channel reaches the caregiver


@dataclass(frozen=True)
class Contact:
    """One address of one caregiver: of mail, of a telephone, of a device that takes pushes (with its `keys`)."""

    id: int
    public_id: str
    subscription_id: int
    channel: ChannelName
    address: str
    keys: Mapping[str, str]
    added_at: datetime
    off_at: datetime | None  # the caregiver wants no reminders here
    bounced_at: datetime | None  # refused for good when last tried
    gone_at: datetime | None  # removed, or the device has forgotten it

    @property
    def reaches(self) -> bool:
        return self.gone_at is None and self.bounced_at is None

    def takes(self, kind: ReminderKind) -> bool:
        """What is essential is tried everywhere, also where reminders are unwanted and where one was refused before."""
        return self.gone_at is None and (kind.essential or (self.off_at is None and self.bounced_at is None))


@dataclass(frozen=True)
class Delivery:
    """One message to one address. `detail` holds what its words are made from; `error` is the class of what went wrong last, never an address."""

    id: int
    child_id: int
    subscription_id: int
    contact_id: int | None
    channel: ChannelName | None
    kind: ReminderKind
    about: str
    on: date | None  # the local date that it is for; None for one announced before there were channels
    dedupe_key: str
    detail: Mapping[str, Any]
    due_at: datetime
    expires_at: datetime
    state: DeliveryState
    attempts: int
    sent_at: datetime | None
    error: str | None
