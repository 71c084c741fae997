"""The people of the invented clinic. Their passwords are public: the demo holds nobody's data."""

from dataclasses import dataclass
from datetime import UTC, date, datetime, time

from sqlmodel import Session

from service.actions import lens_ranges
from service.actions.sign_in import hash_password
from service.actions.staff import USUAL_RIGHTS
from service.facts import Role, Staff
from service.store import people
from shared.lens_words import LensMaterial, WearSchedule
from shared.optics.lens_range import LensRange, read_spans
from shared.vocabulary import Status

PASSWORD = "demo-harrowmere"
TIME_ZONE = "Europe/Lisbon"
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


LENSES = LensRange(
    name="Harrowmere infant lenses",
    spans=read_spans("+14 to +24 by 0.5; +25 to +36 by 1"),
    status=Status.COMMON_PRACTICE,
    base_curves_mm=(7.4, 7.6, 7.8),
    diameters_mm=(11.5,),
    material=LensMaterial.SILICONE_ELASTOMER,
    wear_schedule=WearSchedule.OVERNIGHT,
)


def enter_lenses(session: Session, clinic: DemoClinic, from_on: date) -> None:
    """The range the clinic can have, also invented."""
    now = datetime.combine(from_on, time(9), UTC)
    lens_ranges.enter(session, clinic.staff[Role.OPTOMETRIST], LENSES, from_on, from_on, now)


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
    for role, kind in USUAL_RIGHTS:
        people.grant(session, clinic_id, role, kind)
    password_hash = hash_password(PASSWORD)
    staff = {
        role: people.add_staff(session, clinic_id, name=name, role=role, sign_in_name=sign_in_name(role), password_hash=password_hash)
        for role, name in NAMES.items()
    }
    return DemoClinic(clinic_id, staff)
