"""Registering a child and correcting particulars."""

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import available_timezones

from sqlalchemy.exc import IntegrityError
from sqlmodel import Session

from service.clock import local_today
from service.errors import NotAllowedError
from service.facts import Child, EyeStatus, Staff
from service.store import children, trail
from shared.errors import ClinicalInputError
from shared.findings import Message, msg
from shared.vocabulary import Aetiology, AmblyopicEye, Laterality, OpticalStatus

OLDEST_YEARS = 25
LONGEST_LANGUAGE = 40


@dataclass(frozen=True)
class Particulars:
    reference: str
    short_name: str
    born_on: date
    weeks_premature: int
    time_zone: str
    aetiology: Aetiology
    amblyopic_eye: AmblyopicEye
    statuses: Mapping[Laterality, tuple[OpticalStatus, date | None]]  # and the date of surgery, for an operated eye
    spoken_language: str = ""  # as the family named it; empty: the clinic's
    interpreter_needed: bool = False


def known_zone(time_zone: str) -> str:
    if time_zone not in available_timezones():
        raise ClinicalInputError("time_zone", msg("“%(typed)s” is not a time zone; a name like Europe/Lisbon would be.", typed=time_zone))
    return time_zone


def register(session: Session, staff: Staff, p: Particulars, now: datetime) -> Child:
    """Raises `ClinicalInputError` naming the field."""
    today = local_today(now, known_zone(p.time_zone))
    if p.born_on > today:
        raise ClinicalInputError("born_on", msg("%(on)s lies in the future.", on=p.born_on))
    if p.born_on.year < today.year - OLDEST_YEARS:
        raise ClinicalInputError("born_on", msg("%(on)s is more than %(years)s years ago; please check the year.", on=p.born_on, years=OLDEST_YEARS))
    if children.reference_taken(session, staff.clinic_id, p.reference):
        raise ClinicalInputError("reference", _reference_taken(p.reference))
    with _reference_is_free(session, p.reference):
        child = _add(session, staff, p, today, now)
    trail.audit(session, staff.clinic_id, at=now, who=staff.public_id, action="register-child", subject=child.public_id)
    return child


@contextmanager
def _reference_is_free(session: Session, reference: str) -> Iterator[None]:
    """Two at once: the second meets the unique reference and is told like anybody else."""
    try:
        with session.begin_nested():
            yield
    except IntegrityError:
        raise ClinicalInputError("reference", _reference_taken(reference)) from None


def _reference_taken(reference: str) -> Message:
    return msg("Another child of this clinic already has the reference %(reference)s.", reference=reference)


def _add(session: Session, staff: Staff, p: Particulars, today: date, now: datetime) -> Child:
    return children.add_child(
        session,
        staff.clinic_id,
        reference=p.reference,
        short_name=p.short_name,
        born_on=p.born_on,
        weeks_premature=p.weeks_premature,
        time_zone=p.time_zone,
        aetiology=p.aetiology,
        amblyopic_eye=p.amblyopic_eye,
        statuses=[s for eye, (status, on) in p.statuses.items() for s in _statuses(eye, status, on, p.born_on, today)],
        spoken_language=p.spoken_language,
        interpreter_needed=p.interpreter_needed,
        now=now,
    )


def _statuses(eye: Laterality, status: OpticalStatus, surgery_on: date | None, born_on: date, today: date) -> list[EyeStatus]:
    name = f"{eye}_surgery_on"
    if status is OpticalStatus.PHAKIC and surgery_on:
        raise ClinicalInputError(name, msg("A phakic eye has its own lens: either the status or the date of surgery is wrong."))
    if not status.operated and not surgery_on:
        return [EyeStatus(eye, status, born_on)]
    if surgery_on is None:
        raise ClinicalInputError(name, msg("An operated eye needs the date of its surgery."))
    if not born_on < surgery_on <= today:
        raise ClinicalInputError(name, msg("%(on)s is not between birth and today.", on=surgery_on))
    return [EyeStatus(eye, OpticalStatus.PHAKIC, born_on), EyeStatus(eye, status, surgery_on)]


@dataclass(frozen=True)
class ChangedParticulars:
    """`version` is the one the person saw when they began."""

    version: int
    short_name: str
    weeks_premature: int
    time_zone: str
    aetiology: Aetiology
    amblyopic_eye: AmblyopicEye
    spoken_language: str
    interpreter_needed: bool


def change(session: Session, staff: Staff, child: Child, p: ChangedParticulars, now: datetime) -> None:
    """Raises `ChangedMeanwhileError`, and `NotAllowedError` where somebody who does not examine changes what a dose is worked out from.

    A new time zone counts from today, past days keep theirs.
    """
    clinical = (p.weeks_premature, p.aetiology, p.amblyopic_eye) != (child.weeks_premature, child.aetiology, child.amblyopic_eye)
    if clinical and not staff.examines:
        raise NotAllowedError
    zone = known_zone(p.time_zone)
    children.change_child(
        session,
        child,
        version=p.version,
        short_name=p.short_name,
        weeks_premature=p.weeks_premature,
        aetiology=p.aetiology,
        amblyopic_eye=p.amblyopic_eye,
        spoken_language=p.spoken_language,
        interpreter_needed=p.interpreter_needed,
    )
    if zone != child.time_zone:
        children.move_household(session, child, zone, local_today(now, zone))
    detail = {"from": {"aetiology": child.aetiology, "amblyopic_eye": child.amblyopic_eye, "time_zone": child.time_zone}}
    trail.audit(session, staff.clinic_id, at=now, who=staff.public_id, action="change-child", subject=child.public_id, detail=detail)
