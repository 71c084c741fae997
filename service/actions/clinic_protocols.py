"""Entering, changing and ending a clinic's own protocols. What holds on past days is never changed."""

from dataclasses import replace
from datetime import date, datetime

from sqlmodel import Session

from service.access import require_administrator
from service.actions import versions
from service.facts import Staff
from service.facts_of_protocols import EnteredProtocol
from service.store import clinic_protocols
from shared.errors import ClinicalInputError
from shared.findings import msg
from shared.treatment.clinic_protocol import ClinicProtocol


def enter(session: Session, staff: Staff, protocol: ClinicProtocol, from_on: date, today: date, now: datetime) -> str:
    """A protocol of a new name. Raises `ClinicalInputError` naming `name` or `from_on`."""
    require_administrator(staff)
    if any(p.protocol.name.casefold() == protocol.name.casefold() for p in clinic_protocols.protocols(session, staff.clinic_id)):
        raise ClinicalInputError("name", msg("“%(name)s” is a protocol already: change that one, or give this one a name of its own.", name=protocol.name))
    return _add(session, staff, protocol, 1, from_on, False, today, now)


def change(session: Session, staff: Staff, seen: EnteredProtocol, protocol: ClinicProtocol, from_on: date, today: date, now: datetime) -> str:
    """The version after the one that was `seen`. Raises `ClinicalInputError` naming `from_on`, `ChangedMeanwhileError` where there is one already."""
    require_administrator(staff)
    return _add(session, staff, replace(protocol, name=seen.protocol.name), seen.number + 1, from_on, False, today, now)


def end(session: Session, staff: Staff, seen: EnteredProtocol, from_on: date, today: date, now: datetime) -> str:
    """No such protocol from a day on; as `change`."""
    require_administrator(staff)
    return _add(session, staff, seen.protocol, seen.number + 1, from_on, True, today, now)


def _add(session: Session, staff: Staff, protocol: ClinicProtocol, number: int, from_on: date, ended: bool, today: date, now: datetime) -> str:
    versions.check_from(from_on, today)
    public_id = clinic_protocols.add(session, staff, protocol, number, from_on, ended, now)
    return versions.audit(session, staff, "protocol", public_id, protocol.name, number, now, ended=ended)
