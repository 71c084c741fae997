"""A clinic's own protocols. Only ever added to: a change, or the end of one, is a version that holds from a date on."""

from dataclasses import asdict
from datetime import date, datetime
from typing import Any

from sqlalchemy.exc import IntegrityError
from sqlmodel import Session, col, select

from service.errors import ChangedMeanwhileError, NotFoundError
from service.facts import Staff
from service.facts_of_protocols import EnteredProtocol
from service.store.keyset import page_ids
from service.store.records import ClinicProtocolRow, StaffRow
from service.tokens import new_public_id
from shared.sight.severity import Severity
from shared.treatment.clinic_protocol import ClinicProtocol
from shared.treatment.protocol_words import BandSet, Pattern
from shared.vocabulary import Aetiology


def add(session: Session, staff: Staff, protocol: ClinicProtocol, number: int, from_on: date, ended: bool, now: datetime) -> str:
    """Version `number` of the protocol of that name. Raises `ChangedMeanwhileError` where somebody else has entered it."""
    row = ClinicProtocolRow(
        clinic_id=staff.clinic_id,
        public_id=new_public_id(),
        number=number,
        from_on=from_on,
        ended=ended,
        entered_by=staff.id,
        entered_at=now,
        **asdict(protocol),
    )
    public_id = row.public_id
    try:
        with session.begin_nested():
            session.add(row)
    except IntegrityError:
        raise ChangedMeanwhileError from None
    return public_id


def protocols(session: Session, clinic_id: int) -> list[EnteredProtocol]:
    """Every version, by name, date and number."""
    order = (col(ClinicProtocolRow.name), col(ClinicProtocolRow.from_on), col(ClinicProtocolRow.number))
    return _read(session, ClinicProtocolRow.clinic_id == clinic_id, *order)


def protocols_behind(session: Session, clinic_id: int, after: str | None, limit: int) -> list[EnteredProtocol]:
    """One page of versions in the order they were entered; `after` is a public id."""
    ids = page_ids(session, ClinicProtocolRow, ClinicProtocolRow.clinic_id == clinic_id, after, limit)
    return _read(session, col(ClinicProtocolRow.id).in_(ids), col(ClinicProtocolRow.id))


def one(session: Session, clinic_id: int, public_id: str) -> EnteredProtocol:
    """Raises `NotFoundError` for a protocol that is not this clinic's."""
    found = _read(session, (ClinicProtocolRow.clinic_id == clinic_id) & (ClinicProtocolRow.public_id == public_id))
    if not found:
        raise NotFoundError
    return found[0]


def in_force(session: Session, clinic_id: int, day: date) -> list[EnteredProtocol]:
    """The protocols that hold on a day: of each name the version that began last, unless that one ended it."""
    begun = {p.protocol.name: p for p in protocols(session, clinic_id) if p.from_on <= day}
    return [p for p in begun.values() if not p.ended]


def _read(session: Session, which: Any, *order: Any) -> list[EnteredProtocol]:
    found = select(ClinicProtocolRow, StaffRow).join(StaffRow, col(StaffRow.id) == col(ClinicProtocolRow.entered_by)).where(which).order_by(*order)
    return [EnteredProtocol(r.public_id, r.number, _protocol(r), r.from_on, r.ended, who.name, r.entered_at) for r, who in session.exec(found).all()]


def _protocol(r: ClinicProtocolRow) -> ClinicProtocol:
    return ClinicProtocol(
        name=r.name,
        author=r.author,
        reference=r.reference,
        aetiology=Aetiology(r.aetiology) if r.aetiology else None,
        from_month=r.from_month,
        below_month=r.below_month,
        band_set=BandSet(r.band_set) if r.band_set else None,
        severity=Severity(r.severity) if r.severity else None,
        minutes=r.minutes,
        waking_percent=r.waking_percent,
        pattern=Pattern(r.pattern),
        review_weeks=r.review_weeks,
        near_work=r.near_work,
    )
