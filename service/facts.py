"""Stored facts as values: what the store hands out and views and actions work with. Nothing here is derived."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum
from typing import Any

from schedules.feed_style import FeedStyle
from schedules.regimen import Regimen
from schedules.reminders import Wishes
from shared.vocabulary import (
    Aetiology,
    AmblyopicEye,
    CorrectionKind,
    Laterality,
    OpticalStatus,
)


class Role(StrEnum):
    ADMINISTRATOR = "administrator"
    ORTHOPTIST = "orthoptist"
    OPTOMETRIST = "optometrist"
    CLINICIAN = "clinician"
    RECEPTION = "reception"


class SignedKind(StrEnum):
    """What needs a signature; who may give it is a row per clinic."""

    SPECTACLES = "spectacles"
    CONTACT_LENS = "contact-lens"
    OCCLUSION = "occlusion"
    OPERATION = "operation"
    ATROPINE = "atropine"


@dataclass(frozen=True)
class Clinic:
    id: int
    name: str
    town: str
    phone: str
    out_of_hours: str
    time_zone: str
    locale: str
    not_brought_pathway: str
    demo: bool = False


@dataclass(frozen=True)
class Staff:
    id: int
    public_id: str
    clinic_id: int
    name: str
    role: Role

    @property
    def examines(self) -> bool:
        return self.role in (Role.ORTHOPTIST, Role.OPTOMETRIST, Role.CLINICIAN)


@dataclass(frozen=True)
class TokenGiven:
    """A token of one's own for the API, without its secret; `handle` names it."""

    handle: str
    label: str
    created_at: datetime
    revoked_at: datetime | None


@dataclass(frozen=True)
class EyeStatus:
    """From `since_on` (birth or the day of surgery) the eye has this status."""

    eye: Laterality
    status: OpticalStatus
    since_on: date


@dataclass(frozen=True)
class Child:
    id: int
    public_id: str
    clinic_id: int
    reference: str
    short_name: str
    born_on: date
    weeks_premature: int
    aetiology: Aetiology
    amblyopic_eye: AmblyopicEye
    zones: tuple[tuple[date, str], ...]  # (from, IANA zone), ascending
    statuses: tuple[EyeStatus, ...]  # ascending by date
    version: int
    facts_version: int
    spoken_language: str = ""  # as the family named it; empty: the clinic's
    interpreter_needed: bool = False

    @property
    def time_zone(self) -> str:
        return self.zones[-1][1]

    def zone_on(self, day: date) -> str:
        """The zone in force that day; the first one before any was set."""
        return next((zone for since, zone in reversed(self.zones) if since <= day), self.zones[0][1])

    def status(self, eye: Laterality, day: date) -> OpticalStatus | None:
        """The eye's status on a day, None where none was recorded for it."""
        return next((s.status for s in reversed(self.statuses) if s.eye is eye and s.since_on <= day), None)

    def changed_on(self, eye: Laterality, day: date) -> date | None:
        """The last day up to a day on which the eye's status changed; None while it is as it was at birth."""
        return next((s.since_on for s in reversed(self.statuses) if s.eye is eye and self.born_on < s.since_on <= day), None)

    def surgery_on(self, eye: Laterality, day: date) -> date | None:
        """The first surgery of the eye up to a day."""
        return next((s.since_on for s in self.statuses if s.eye is eye and s.status.operated and s.since_on <= day), None)


@dataclass(frozen=True)
class SignedCorrection:
    public_id: str
    kind: CorrectionKind
    visit_on: date
    content: Mapping[str, Any]
    signed_by: str
    signed_at: datetime

    @property
    def eyes(self) -> tuple[Laterality, ...]:
        return tuple(eye for eye in Laterality if eye in self.content["eyes"])

    def near_dioptres(self, eye: Laterality) -> float:
        """What it adds for near in an eye, in the whole lens or in a segment."""
        return float(self.content["eyes"][eye]["near_dioptres"]) if eye in self.eyes else 0.0


@dataclass(frozen=True)
class SignedRegimen:
    public_id: str
    regimen: Regimen
    content: Mapping[str, Any]
    signer_id: int
    signed_by: str
    signed_at: datetime


@dataclass(frozen=True)
class Subscription:
    """One person's links to one child's plan."""

    id: int
    public_id: str
    clinic_id: int
    child_id: int
    caregiver: str
    style: FeedStyle
    created_at: datetime
    revoked_at: datetime | None
    fetched_at: datetime | None
    fetched_by: str | None
    wishes: Wishes
    sees_others: bool = True  # what other adults noted

    @property
    def label(self) -> str:
        """What the family calls patching."""
        return self.style.label


@dataclass(frozen=True)
class Timer:
    """A caregiver's timer; `client_key` is what the device calls it."""

    public_id: str
    client_key: str
    started_at: datetime
    stopped_at: datetime | None


@dataclass(frozen=True)
class RetiredAddress:
    """A feed's address that was given up for another; `changed_at` is later than whatever it last answered."""

    subscription: Subscription
    retired_at: datetime
    changed_at: datetime


@dataclass(frozen=True)
class NurseryLink:
    """One place's link to one child's day, open up to and on `until_on`; `label` is all that it calls the child."""

    public_id: str
    clinic_id: int
    child_id: int
    place: str
    label: str
    until_on: date
    created_at: datetime
    revoked_at: datetime | None


@dataclass(frozen=True)
class FeedState:
    """The stored bytes of a feed and what they were made from."""

    made_from: str
    body: bytes
    changed_at: datetime
