"""Whom a clinic begins with, entered on the machine itself: the clinic, its administrator, and every colleague."""

from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session

from service.actions.children import known_zone
from service.actions.sign_in import hash_password
from service.facts import Role, SignedKind, Staff
from service.store import people, trail
from shared.errors import ClinicalInputError
from shared.findings import msg

SHORTEST_PASSWORD = 12
# Who may sign what where a clinic has not said otherwise (common practice; the administrator changes it).
USUAL_RIGHTS = (
    (Role.OPTOMETRIST, SignedKind.SPECTACLES),
    (Role.OPTOMETRIST, SignedKind.CONTACT_LENS),
    (Role.CLINICIAN, SignedKind.SPECTACLES),
    (Role.CLINICIAN, SignedKind.CONTACT_LENS),
    (Role.CLINICIAN, SignedKind.OPERATION),
    (Role.ORTHOPTIST, SignedKind.OCCLUSION),
    (Role.CLINICIAN, SignedKind.OCCLUSION),
    (Role.CLINICIAN, SignedKind.ATROPINE),
)


@dataclass(frozen=True)
class Colleague:
    name: str
    role: Role
    sign_in_name: str
    password: str


@dataclass(frozen=True)
class ClinicGiven:
    name: str
    town: str
    phone: str
    out_of_hours: str
    time_zone: str


def begin(session: Session, given: ClinicGiven, administrator: Colleague, now: datetime) -> Staff:
    """A clinic with its first administrator and the usual rights. Raises `ClinicalInputError` naming the field."""
    clinic_id = people.add_clinic(
        session,
        name=given.name,
        town=given.town,
        phone=given.phone,
        out_of_hours=given.out_of_hours,
        time_zone=known_zone(given.time_zone),
        locale="en",
        demo=False,
    )
    for role, kind in USUAL_RIGHTS:
        people.grant(session, clinic_id, role, kind)
    return add(session, clinic_id, administrator, now)


def add(session: Session, clinic_id: int, colleague: Colleague, now: datetime) -> Staff:
    """Raises `ClinicalInputError` naming the field: a sign-in name that is taken, a password that is too short."""
    if len(colleague.password) < SHORTEST_PASSWORD:
        raise ClinicalInputError("password", msg("A password needs at least %(n)s characters.", n=SHORTEST_PASSWORD))
    if people.sign_in_name_taken(session, colleague.sign_in_name):
        raise ClinicalInputError("sign_in_name", msg("The sign-in name “%(typed)s” is taken.", typed=colleague.sign_in_name))
    staff = people.add_staff(
        session,
        clinic_id,
        name=colleague.name,
        role=colleague.role,
        sign_in_name=colleague.sign_in_name,
        password_hash=hash_password(colleague.password),
    )
    trail.audit(session, clinic_id, at=now, who="command line", action="add-staff", subject=staff.public_id, detail={"role": staff.role})
    return staff
