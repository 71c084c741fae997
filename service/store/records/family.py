"""Caregivers' and nurseries' links, what their calendars were promised, and what they noted."""

from datetime import date, datetime
from typing import Any

from sqlalchemy import UniqueConstraint
from sqlmodel import Field

from service.store.records.base import ClinicRow, between, json_column, one_of


class SubscriptionRow(ClinicRow, table=True):
    """One person's links: a feed address and a phone page. Only hashes of the secrets are kept."""

    __tablename__ = "subscription"
    __table_args__ = (one_of("shown", "all-day", "sessions", "both"),)
    public_id: str = Field(unique=True)
    child_id: int = Field(foreign_key="child.id", index=True)
    caregiver: str
    label: str
    word: str
    shown: str
    alarm_minutes: int | None
    session_alarm_minutes: int | None
    care: list[str] = json_column()
    done_shown: bool
    colour: str
    language: str
    sees_others: bool = True  # what other adults noted of this child
    feed_token_hash: str = Field(unique=True)
    page_token_hash: str = Field(unique=True)
    created_at: datetime
    revoked_at: datetime | None = None
    fetched_at: datetime | None = None
    fetched_by: str | None = None
    feed_changed_at: datetime
    feed_made_from: str = ""  # facts version and local day the bytes were made from; the bytes are a cache and may be dropped
    feed_body: bytes = b""
    wishes: dict[str, Any] = json_column()
    reminders_facts: int = -1  # the version of the child's facts that the planned reminders came from; -1: plan them anew
    reminders_until: datetime | None = None  # when they are planned anew whatever the facts


class NurseryLinkRow(ClinicRow, table=True):
    """One place's link to one child's day, until a date. Only the hash of the secret is kept."""

    __tablename__ = "nursery_link"
    public_id: str = Field(unique=True)
    child_id: int = Field(foreign_key="child.id", index=True)
    place: str
    label: str
    until_on: date
    token_hash: str = Field(unique=True)
    created_at: datetime
    revoked_at: datetime | None = None


class RetiredFeedRow(ClinicRow, table=True):
    """A feed's address that was given up for another: it says so for a while, and is never given again."""

    __tablename__ = "retired_feed"
    subscription_id: int = Field(foreign_key="subscription.id", index=True)
    token_hash: str = Field(unique=True)
    retired_at: datetime
    changed_at: datetime


class PublishedItemRow(ClinicRow, table=True):
    """What a calendar was promised: a UID for ever, a SEQUENCE and LAST-MODIFIED that only rise."""

    __tablename__ = "published_item"
    __table_args__ = (UniqueConstraint("subscription_id", "on", "kind", "ordinal"),)
    subscription_id: int = Field(foreign_key="subscription.id", index=True)
    on: date
    kind: str
    ordinal: int
    uid: str
    content_hash: str
    sequence: int
    last_modified: datetime
    withdrawn: bool = False
    start_at: datetime | None = None


class WearRow(ClinicRow, table=True):
    """One thing that was said about one day, and by whom: `recorded_by` is what the trail calls them. Rows are only ever added."""

    __tablename__ = "wear_entry"
    __table_args__ = (
        UniqueConstraint("recorded_by", "client_key"),
        UniqueConstraint("replaces_id"),
        between("minutes", 0, 1440),
    )
    public_id: str = Field(unique=True)
    child_id: int = Field(foreign_key="child.id", index=True)
    recorded_by: str
    client_key: str
    local_on: date
    minutes: int
    reason: str | None
    correction_worn: bool | None
    replaces_id: int | None = Field(default=None, foreign_key="wear_entry.id")
    withdrawn: bool = False
    started_at: datetime | None = None  # of a timed entry
    ended_at: datetime | None = None
    said_at: datetime | None = None  # by the clock of a device that had to wait for a network
    recorded_at: datetime


class TimerRow(ClinicRow, table=True):
    """One caregiver's timer. It runs until it is stopped, with an entry of wear or without one."""

    __tablename__ = "timer"
    __table_args__ = (UniqueConstraint("subscription_id", "client_key"),)
    public_id: str = Field(unique=True)
    child_id: int = Field(foreign_key="child.id", index=True)
    subscription_id: int = Field(foreign_key="subscription.id", index=True)
    client_key: str
    started_at: datetime
    stopped_at: datetime | None = None
