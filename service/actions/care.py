"""What is said of one child's care: the surgeon's sheet, patches counted, the date to plan an implant, how a lens is worn. Past days stay as they were.

A family counts its patches; all else is said by staff.
"""

from dataclasses import dataclass
from datetime import date, datetime

from sqlmodel import Session

from schedules.care_facts import PatchStock, SheetLine, WornLens
from schedules.care_words import CareKind
from service.access import require_recorder, require_registrar
from service.clock import local_today
from service.errors import NotFoundError
from service.facts import Child, Staff, Subscription
from service.facts_of_home_care import LensWear, LineEnded, Said, SecondaryLensPlanned
from service.store import care_record, children, signed, trail
from shared.errors import ClinicalInputError
from shared.findings import msg
from shared.vocabulary import CorrectionKind, Laterality, OpticalStatus


@dataclass(frozen=True)
class NewLine:
    """A line of the surgeon's sheet before it has its number."""

    kind: CareKind
    eye: Laterality | None
    start_on: date
    end_on: date
    times_a_day: int
    words: str


def enter_line(session: Session, staff: Staff, child: Child, line: NewLine, now: datetime) -> str:
    """The entry's public id. Raises `ClinicalInputError` naming the field, `NotAllowedError` for a role that does not examine."""
    require_recorder(staff)
    _from_today("start_on", line.start_on, child, now)
    number = _next_number(session, child)
    return _add(session, staff, child, number, SheetLine(number, **vars(line)), now)


def end_line(session: Session, staff: Staff, child: Child, line: int, end_on: date, now: datetime) -> str:
    """A line ends earlier, or never begins. Raises `ClinicalInputError` naming `end_on`, `NotFoundError` for a line that is over or was never there."""
    require_recorder(staff)
    _from_today("end_on", end_on, child, now)
    number = _next_number(session, child)
    found = next((held for held in care_record.record(session, child).sheet if held.number == line), None)
    if found is None:
        raise NotFoundError
    if end_on >= found.end_on:
        raise ClinicalInputError("end_on", msg("This line ends on %(end)s already.", end=found.end_on))
    return _add(session, staff, child, number, LineEnded(line, end_on), now)


def count_patches(session: Session, by: Staff | Subscription, child: Child, patches_left: int, patches_a_day: int, now: datetime) -> str:
    """Patches left this morning, by staff or by the family. Raises `ClinicalInputError` naming the field."""
    if isinstance(by, Staff):
        require_registrar(by)
    number = _next_number(session, child)
    return _add(session, by, child, number, PatchStock(local_today(now, child.time_zone), patches_left, patches_a_day), now)


def plan_secondary_lens(session: Session, staff: Staff, child: Child, eye: Laterality, on: date | None, now: datetime) -> str:
    """The day from which an implant is planned, None: no day any more. Raises `ClinicalInputError` naming `eye` or `on`."""
    require_recorder(staff)
    today = local_today(now, child.time_zone)
    if child.status(eye, today) is not OpticalStatus.APHAKIC:
        raise ClinicalInputError("eye", msg("The %(eye)s eye is not aphakic: there is no implant to plan.", eye=eye))
    if on is not None:
        _from_today("on", on, child, now)
    number = _next_number(session, child)
    return _add(session, staff, child, number, SecondaryLensPlanned(eye, on), now)


def set_lens_wear(session: Session, staff: Staff, child: Child, wear: LensWear, now: datetime) -> str:
    """How the lens of a signed document is worn. Raises `ClinicalInputError` naming the field, `NotFoundError` for a document without such a lens."""
    require_recorder(staff)
    WornLens(wear.eye, local_today(now, child.time_zone), wear.wear_schedule, wear.out_every_days, wear.replace_every_days)
    lenses = (d for d in signed.corrections(session, child) if d.kind is CorrectionKind.CONTACT_LENS and wear.eye in d.eyes)
    if wear.correction_id not in {d.public_id for d in lenses}:
        raise NotFoundError
    return _add(session, staff, child, _next_number(session, child), wear, now)


def _from_today(field: str, on: date, child: Child, now: datetime) -> None:
    if on < local_today(now, child.time_zone):
        raise ClinicalInputError(field, msg("%(on)s lies in the past, which stays as it was; today or later would do.", on=on))


def _next_number(session: Session, child: Child) -> int:
    """Locks the child's row first, so that two writers take turns."""
    children.facts_changed(session, child.id)
    return care_record.record(session, child).next_number


def _add(session: Session, by: Staff | Subscription, child: Child, number: int, said: Said, now: datetime) -> str:
    public_id = care_record.add(session, by, child, number, said, now)
    who = by.public_id if isinstance(by, Staff) else f"link:{by.public_id}"
    detail = {"kind": care_record.kind_of(said), "number": number}
    trail.audit(session, child.clinic_id, at=now, who=who, action="care-entry", subject=public_id, detail=detail)
    return public_id
