"""What the worker's clock does besides rolling feeds on: it forgets keys that nobody can use any more."""

from datetime import timedelta

from sqlalchemy import Engine

from service import jobs
from service.clock import StoppedClock
from service.db import reading, writing
from service.facts import Child, Role
from service.settings import Settings
from service.store import people, trail
from tests.people import NOW, TestClinic
from tests.service.pages import submit


def test_old_attempts_sessions_and_form_keys_go_and_the_ones_in_use_stay(
    signed_in, sam: Child, engine: Engine, clinic: TestClinic, settings: Settings, clock: StoppedClock
) -> None:
    browser = signed_in(Role.ORTHOPTIST)
    with writing(engine) as session:
        people.add_attempt(session, "old", NOW - timedelta(days=2))
        people.add_attempt(session, "new", NOW)
        people.open_staff_session(session, clinic.staff[Role.CLINICIAN], "old", NOW - timedelta(days=60), timedelta(hours=12))
        assert trail.claim(session, clinic.clinic_id, "old", "x", NOW - timedelta(days=91)) is None
        assert trail.claim(session, clinic.clinic_id, "new", "x", NOW - timedelta(days=80)) is None
        trail.settle_claim(session, clinic.clinic_id, "new", "/there")
    jobs.tick(engine, settings, clock)
    with reading(engine) as session:
        assert people.count_attempts(session, "old", NOW - timedelta(days=9)) == 0 and people.count_attempts(session, "new", NOW - timedelta(days=9)) == 1
    with writing(engine) as session:
        assert trail.claim(session, clinic.clinic_id, "old", "x", NOW) is None, "forgotten: it would be taken as new"
        assert trail.claim(session, clinic.clinic_id, "new", "x", NOW) == "/there"
    assert submit(browser, f"/children/{sam.public_id}/visits/new", right_pressure_mmhg="14").status_code == 303, "whoever is signed in stays so"
