"""A clinic's own protocols. Only ever added to: a change, or the end of one, is a version that holds from a date on."""

from dataclasses import asdict
from datetime import date, datetime

from sqlmodel import Session

from service.facts import Staff
from service.facts_of_protocols import EnteredProtocol
from service.store import versions
from service.store.records import ClinicProtocolRow
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
    return versions.add(session, row)


def protocols(session: Session, clinic_id: int) -> list[EnteredProtocol]:
    """Every version, by name, date and number."""
    return [_entered(*found) for found in versions.of_clinic(session, ClinicProtocolRow, clinic_id, "name", "from_on", "number")]


def protocols_behind(session: Session, clinic_id: int, after: str | None, limit: int) -> list[EnteredProtocol]:
    """One page of versions in the order they were entered; `after` is a public id."""
    return [_entered(*found) for found in versions.behind(session, ClinicProtocolRow, clinic_id, after, limit)]


def one(session: Session, clinic_id: int, public_id: str) -> EnteredProtocol:
    """Raises `NotFoundError` for a protocol that is not this clinic's."""
    return _entered(*versions.one(session, ClinicProtocolRow, clinic_id, public_id))


def in_force(session: Session, clinic_id: int, day: date) -> list[EnteredProtocol]:
    """The protocols that hold on a day: of each name the version that began last, unless that one ended it."""
    begun = {p.protocol.name: p for p in protocols(session, clinic_id) if p.from_on <= day}
    return [p for p in begun.values() if not p.ended]


def _entered(r: ClinicProtocolRow, who: str) -> EnteredProtocol:
    return EnteredProtocol(r.public_id, r.number, _protocol(r), r.from_on, r.ended, who, r.entered_at)


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
