"""The people of the tests: two clinics with one member of staff for each role, and a few invented children."""

from dataclasses import dataclass
from datetime import UTC, date, datetime

from argon2 import PasswordHasher
from sqlalchemy import Engine

from service.access import SESSION_COOKIE, SESSION_LASTS
from service.actions import children
from service.actions.staff import USUAL_RIGHTS
from service.db import writing
from service.facts import Child, Role, Staff
from service.store import people
from service.tokens import new_token
from shared.vocabulary import Aetiology, AmblyopicEye, Laterality, OpticalStatus

TODAY = date(2026, 3, 2)
NOW = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
PASSWORD = "a password of the tests"
CHEAP_HASH = PasswordHasher(time_cost=1, memory_cost=8, parallelism=1).hash(PASSWORD)


@dataclass(frozen=True)
class TestClinic:
    __test__ = False
    clinic_id: int
    staff: dict[Role, Staff]


def add_clinic(engine: Engine, name: str, time_zone: str = "Europe/Lisbon") -> TestClinic:
    with writing(engine) as session:
        clinic_id = people.add_clinic(
            session, name=name, town="Testham", phone="01632 960 001", out_of_hours="Ring and choose 2.", time_zone=time_zone, locale="en", demo=False
        )
        for role, kind in USUAL_RIGHTS:
            people.grant(session, clinic_id, role, kind)
        staff = {
            role: people.add_staff(session, clinic_id, name=f"{role} of {name}", role=role, sign_in_name=f"{role}@{name}", password_hash=CHEAP_HASH)
            for role in Role
        }
    return TestClinic(clinic_id, staff)


def session_cookie(engine: Engine, staff: Staff, now: datetime) -> dict[str, str]:
    token = new_token("s")
    with writing(engine) as session:
        people.open_staff_session(session, staff, token, now, SESSION_LASTS)
    return {SESSION_COOKIE: token}


def infant(born_on: date = date(2025, 10, 2), surgery_on: date = date(2025, 12, 4)) -> children.Particulars:
    """Five completed months on `TODAY`; the left lens removed at two."""
    statuses = {Laterality.RIGHT: (OpticalStatus.PHAKIC, None), Laterality.LEFT: (OpticalStatus.APHAKIC, surgery_on)}
    return children.Particulars("T-1", "Baby", born_on, 0, "Europe/Lisbon", Aetiology.DEPRIVATION, AmblyopicEye.LEFT, statuses)


def schoolchild(reference: str = "T-2", aetiology: Aetiology = Aetiology.ANISOMETROPIC) -> children.Particulars:
    """Five years old, the left eye amblyopic."""
    statuses = dict.fromkeys(Laterality, (OpticalStatus.PHAKIC, None))
    return children.Particulars(reference, "Sam", date(2021, 1, 15), 0, "Europe/Lisbon", aetiology, AmblyopicEye.LEFT, statuses)


def register(engine: Engine, clinic: TestClinic, particulars: children.Particulars, now: datetime = NOW) -> Child:
    with writing(engine) as session:
        return children.register(session, clinic.staff[Role.RECEPTION], particulars, now)
