"""Booking, moving and closing visits. A review that slips past the end of the plan warns its signer and the clinic in the same transaction."""

from collections.abc import Sequence
from datetime import date, datetime

from sqlmodel import Session

from service.access import require_registrar
from service.actions.amendments import INFANT_MONTHS
from service.clock import local_today
from service.facts import Child, SignedRegimen, Staff
from service.facts_of_care import Booking
from service.store import bookings, children, notices, signed, trail
from shared.course.follow_up import slipped
from shared.dates import completed_months
from shared.errors import ClinicalInputError
from shared.findings import Message, msg
from shared.vocabulary import BookingKind, BookingState, Phase


def book(session: Session, staff: Staff, child: Child, kind: BookingKind, on: date, reason: str, now: datetime) -> str:
    """The booking's public id. Raises `NotAllowedError`, `ClinicalInputError` naming the field."""
    require_registrar(staff)
    children.facts_changed(session, child.id)
    _check_day(child, on, now)
    if any(b.kind is kind and b.on == on and b.state is BookingState.BOOKED for b in bookings.bookings(session, child)):
        raise ClinicalInputError("on", msg("This visit is booked for %(on)s already.", on=on))
    public_id = bookings.add_booking(session, child, staff, kind, on, reason, now)
    _audit(session, staff, "book-visit", public_id, on, now)
    _warn_of_slip(session, staff, child, kind, f"{public_id}|1", now)
    return public_id


def move(session: Session, staff: Staff, child: Child, public_id: str, version: int, on: date, reason: str, now: datetime) -> None:
    """Raises `ChangedMeanwhileError`, `NotAllowedError`, `ClinicalInputError` naming the field."""
    require_registrar(staff)
    children.facts_changed(session, child.id)
    _check_day(child, on, now)
    booking = _still_booked(session, child, public_id)
    bookings.change_booking(session, child, public_id, staff, version=version, on=on, state=BookingState.BOOKED, reason=reason, now=now)
    notices.withdraw(session, child, public_id, now)
    _audit(session, staff, "move-visit", public_id, on, now)
    _warn_of_slip(session, staff, child, booking.kind, f"{public_id}|{version + 1}", now)


def close(session: Session, staff: Staff, child: Child, public_id: str, version: int, state: BookingState, reason: str, now: datetime) -> None:
    """Cancelled, or the child was not brought. Raises `ChangedMeanwhileError`, `NotAllowedError`, `ClinicalInputError` naming the field."""
    require_registrar(staff)
    children.facts_changed(session, child.id)
    booking = _still_booked(session, child, public_id)
    if state is BookingState.NOT_BROUGHT and booking.on > local_today(now, child.time_zone):
        raise ClinicalInputError("reason", msg("The visit of %(on)s is still to come: move or cancel it.", on=booking.on))
    bookings.change_booking(session, child, public_id, staff, version=version, on=booking.on, state=state, reason=reason, now=now)
    notices.withdraw(session, child, public_id, now)
    _audit(session, staff, state, public_id, booking.on, now)
    about = f"{public_id}|{version + 1}"
    if state is BookingState.NOT_BROUGHT:
        _warn(session, child, msg("Was not brought on %(on)s: the clinic's own pathway stands with the booked visits.", on=booking.on), about, now)
    else:
        _warn_of_slip(session, staff, child, booking.kind, about, now)


def _check_day(child: Child, on: date, now: datetime) -> None:
    today = local_today(now, child.time_zone)
    if on < today:
        raise ClinicalInputError("on", msg("%(on)s has passed.", on=on))
    if (on - today).days > 3 * 366:
        raise ClinicalInputError("on", msg("%(on)s is more than three years ahead; please check the year.", on=on))


def _still_booked(session: Session, child: Child, public_id: str) -> Booking:
    booking = bookings.booking(session, child, public_id)
    if booking.state is not BookingState.BOOKED:
        raise ClinicalInputError("reason", msg("This visit is no longer booked; book a new one."))
    return booking


def slip(newest: SignedRegimen | None, booked: Sequence[Booking], today: date) -> Message | None:
    """What is to be said of the next review against the end of the plan; None where it is in time, or nothing ends."""
    ends = newest.regimen.ends_on if newest else None
    if newest is None or ends is None or newest.regimen.phase is Phase.STOP:
        return None
    ahead = [b.on for b in booked if b.kind is BookingKind.REVIEW and b.state is BookingState.BOOKED and b.on >= today]
    return slipped(min(ahead, default=None), ends)


def _warn_of_slip(session: Session, staff: Staff, child: Child, kind: BookingKind, about: str, now: datetime) -> None:
    if kind is not BookingKind.REVIEW:
        return
    found = signed.regimens(session, child)
    text = slip(found[-1] if found else None, bookings.bookings(session, child), local_today(now, child.time_zone))
    if text is not None:
        _warn(session, child, msg("%(slip)s Changed by %(who)s.", slip=text, who=staff.name), about, now)


def _warn(session: Session, child: Child, text: Message, about: str, now: datetime) -> None:
    """The signer of the newest revision and the clinic; an infant's notice stands first."""
    found = signed.regimens(session, child)
    signers = [found[-1].signer_id] if found else []
    urgent = completed_months(child.born_on, local_today(now, child.time_zone)) < INFANT_MONTHS
    notices.notify(session, child, [*signers, None], text, about, urgent, now)


def _audit(session: Session, staff: Staff, action: str, public_id: str, on: date, now: datetime) -> None:
    trail.audit(session, staff.clinic_id, at=now, who=staff.public_id, action=action, subject=public_id, detail={"on": on.isoformat()})
