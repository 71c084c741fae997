"""The day of surgery as one signed step: the eye's status, the patch, and what no longer holds."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from hashlib import sha256

from sqlmodel import Session

from schedules.regimen import Regimen
from service.access import require_signature
from service.actions import amendments
from service.clock import local_today
from service.errors import ChangedSinceSeenError
from service.facts import Child, EyeStatus, SignedCorrection, SignedKind, SignedRegimen, Staff
from service.store import children, operations, signed, trail
from shared.errors import ClinicalInputError
from shared.findings import msg
from shared.vocabulary import Laterality, Operation, OpticalStatus, Phase


@dataclass(frozen=True)
class Surgery:
    """What was done. `review_on` is the date until which the patch is suspended; None where nothing is going on."""

    operation: Operation
    eye: Laterality | None
    on: date
    review_on: date | None
    note: str = ""


@dataclass(frozen=True)
class Consequences:
    """What signing it does. `digest` stands for what the signer saw."""

    surgery: Surgery
    suspends: Regimen | None  # what is in force or still to come
    barred: tuple[tuple[SignedCorrection, Laterality], ...]
    status: OpticalStatus | None  # of the eye from that day on; None: its optics stay as they are

    @property
    def digest(self) -> str:
        number = self.suspends.number if self.suspends else None
        seen = (self.surgery, number, [(d.public_id, eye) for d, eye in self.barred], self.status)
        return sha256(repr(seen).encode()).hexdigest()[:16]


def work_out(child: Child, regimens: Sequence[SignedRegimen], corrections: Sequence[SignedCorrection], s: Surgery, today: date) -> Consequences:
    """Raises `ClinicalInputError` naming the field."""
    _check_day(child, s, today)
    status = s.operation.to_status
    if s.operation is not Operation.SQUINT_SURGERY:
        _check_eye(child, s)
    if s.operation is Operation.OTHER and not s.note:
        raise ClinicalInputError("note", msg("Please say which operation it was."))
    suspends = running(regimens, today)
    if suspends and (s.review_on is None or s.review_on <= today):
        raise ClinicalInputError("review_on", msg("A plan is going on: until which day, after today, is the patch suspended?"))
    barred = tuple((d, s.eye) for d in corrections if status is not None and s.eye is not None and s.eye in d.eyes and d.visit_on < s.on)
    return Consequences(s, suspends, barred, status)


def running(regimens: Sequence[SignedRegimen], today: date) -> Regimen | None:
    """The newest revision, where it has not ended: in force, or still to come."""
    newest = regimens[-1].regimen if regimens else None
    ended = newest is None or newest.phase is Phase.STOP or (newest.ends_on is not None and newest.ends_on <= today)
    return None if ended else newest


def _check_day(child: Child, s: Surgery, today: date) -> None:
    if s.on > today:
        raise ClinicalInputError("on", msg("%(on)s lies in the future: sign an operation on its day or afterwards.", on=s.on))
    if s.on <= child.born_on:
        raise ClinicalInputError("on", msg("%(on)s is not after the child's birth.", on=s.on))


def _check_eye(child: Child, s: Surgery) -> None:
    if s.eye is None:
        raise ClinicalInputError("eye", msg("Which eye was operated on?"))
    newest = child.changed_on(s.eye, date.max)
    if s.operation.to_status is not None and newest is not None and newest >= s.on:
        later = msg("The %(eye)s eye already changed on %(newest)s; an operation before that is not added here.", eye=s.eye, newest=newest)
        raise ClinicalInputError("on", later)
    before = child.status(s.eye, s.on) or OpticalStatus.PHAKIC
    wanted = s.operation.from_status
    if before is OpticalStatus.ABSENT or (wanted is not None and before is not wanted):
        cannot = msg("The %(eye)s eye is recorded as “%(status)s”; this operation cannot be done on it.", eye=s.eye, status=before)
        raise ClinicalInputError("operation", cannot)


def sign(session: Session, staff: Staff, child: Child, surgery: Surgery, seen: str, now: datetime) -> str:
    """The operation's public id; `seen` is the digest of what the signer was shown.

    Raises `NotAllowedError` for a role that may not sign operations, `ChangedSinceSeenError`, `ClinicalInputError` naming the field.
    """
    require_signature(session, staff, SignedKind.OPERATION)
    children.facts_changed(session, child.id)
    child = children.child_by_id(session, child.id)  # as it stands once nobody else can change it
    found = work_out(child, signed.regimens(session, child), signed.corrections(session, child), surgery, local_today(now, child.time_zone))
    if found.digest != seen:
        raise ChangedSinceSeenError("operation", msg("This has changed since it was shown; please look at what follows and sign again."))
    public_id = operations.add_operation(session, child, staff, surgery.operation, surgery.eye, surgery.on, surgery.note, now)
    if found.status is not None and surgery.eye is not None:
        children.add_statuses(session, child.clinic_id, child.id, [EyeStatus(surgery.eye, found.status, surgery.on)], now)
    if found.suspends and surgery.review_on:
        amendments.suspend(session, staff, child, surgery.review_on, {"operation": public_id, "operation_kind": surgery.operation, "reason": surgery.note}, now)
    detail = {"operation": surgery.operation, "eye": surgery.eye, "on": surgery.on.isoformat()}
    trail.audit(session, staff.clinic_id, at=now, who=staff.public_id, action="sign-operation", subject=public_id, detail=detail)
    return public_id
