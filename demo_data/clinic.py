"""The people of the invented clinic. Their passwords are public: the demo holds nobody's data."""

from dataclasses import dataclass

from sqlmodel import Session

from service.actions.sign_in import hash_password
from service.facts import Role, SignedKind, Staff
from service.store import people

PASSWORD = "demo-harrowmere"
TIME_ZONE = "Europe/Lisbon"
SIGN_RIGHTS = (
    (Role.OPTOMETRIST, SignedKind.SPECTACLES),
    (Role.OPTOMETRIST, SignedKind.CONTACT_LENS),
    (Role.CLINICIAN, SignedKind.SPECTACLES),
    (Role.CLINICIAN, SignedKind.CONTACT_LENS),
    (Role.CLINICIAN, SignedKind.OPERATION),
    (Role.ORTHOPTIST, SignedKind.OCCLUSION),
    (Role.CLINICIAN, SignedKind.OCCLUSION),
)
NAMES = {
    Role.ORTHOPTIST: "Ines Valkhart",
    Role.OPTOMETRIST: "Tomas Wrenfield",
    Role.CLINICIAN: "Dr Adaeze Holmstrand",
    Role.ADMINISTRATOR: "Ruth Pellory",
    Role.RECEPTION: "Jon Ashgrove",
}


@dataclass(frozen=True)
class DemoClinic:
    clinic_id: int
    staff: dict[Role, Staff]


def sign_in_name(role: Role) -> str:
    return f"{role}@harrowmere.example"


def add(session: Session) -> DemoClinic:
    clinic_id = people.add_clinic(
        session,
        name="Harrowmere Children's Eye Clinic",
        town="Harrowmere",
        phone="01632 960 117",  # from a range that telephone companies keep free for fiction
        out_of_hours="Outside clinic hours, ring the clinic's number and choose 2, or go to the nearest emergency department.",
        time_zone=TIME_ZONE,
        locale="en",
        demo=True,
    )
    for role, kind in SIGN_RIGHTS:
        people.grant(session, clinic_id, role, kind)
    password_hash = hash_password(PASSWORD)
    staff = {
        role: people.add_staff(session, clinic_id, name=name, role=role, sign_in_name=sign_in_name(role), password_hash=password_hash)
        for role, name in NAMES.items()
    }
    return DemoClinic(clinic_id, staff)
