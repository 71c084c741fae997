"""The demo never touches a real clinic; what was entered is kept when asked for; the service does not start on an old database."""

import subprocess
import sys
from datetime import date
from pathlib import Path

import pytest
from sqlalchemy import Engine

from demo_data.build import STORIES
from service.actions.sign_in import sign_in
from service.clock import local_today
from service.db import open_engine, reading, writing
from service.demo import NotADemoDatabaseError, prepare
from service.facts import Role, SignedKind
from service.settings import DemoSettings, Settings
from service.store import children, links, people
from tests.people import NOW, TestClinic, register, schoolchild

ROOT = Path(__file__).parents[2]


@pytest.fixture
def demo_settings(database_url: str) -> Settings:
    return DemoSettings(database_url=database_url)


def test_the_demo_is_built_anew_and_kept_when_asked(demo_settings: Settings, tmp_path: Path) -> None:
    day = date(2026, 2, 28)
    engine, clock, tokens = prepare(demo_settings, day, keep=False, folder=tmp_path)
    assert local_today(clock.now(), "UTC") == day
    with reading(engine) as session:
        assert len(children.children(session, 1, "", 10)) == len(STORIES)
        assert links.subscription_of_feed(session, tokens.link("moderate")[0])
    engine.dispose()
    again, _, same_tokens = prepare(demo_settings, day, keep=True, folder=tmp_path)
    assert same_tokens == tokens
    again.dispose()
    anew, _, other = prepare(demo_settings, day, keep=False, folder=tmp_path)
    assert other != tokens
    with reading(anew) as session:
        assert links.subscription_of_feed(session, tokens.link("moderate")[0]) is None
        assert len(children.children(session, 1, "", 10)) == len(STORIES)
    anew.dispose()


def test_the_demo_leaves_a_real_clinic_alone(demo_settings: Settings, engine: Engine, clinic: TestClinic, tmp_path: Path) -> None:
    child = register(engine, clinic, schoolchild())
    for keep in (False, True):
        with pytest.raises(NotADemoDatabaseError):
            prepare(demo_settings, None, keep=keep, folder=tmp_path)
    with reading(engine) as session:
        assert children.child(session, clinic.clinic_id, child.public_id)


@pytest.mark.parametrize("today", [date(2028, 2, 29), date(2026, 3, 31), date(2026, 10, 25), date(2026, 12, 31)])
def test_the_demo_can_take_place_on_any_day(today: date, tmp_path: Path) -> None:
    engine, _, _ = prepare(DemoSettings(database_url=f"sqlite:///{tmp_path / 'any.db'}"), today, keep=False, folder=tmp_path)
    engine.dispose()


def run(tmp_path: Path, *arguments: str, typed: str = "", **environment: str) -> subprocess.CompletedProcess[str]:
    base = {"PATH": "/usr/bin", "DATABASE_URL": f"sqlite:///{tmp_path / 'x.db'}"}
    command = [sys.executable, "-m", "service", *arguments]
    return subprocess.run(command, cwd=ROOT, env=base | environment, input=typed, capture_output=True, text=True, timeout=60, check=False)


def test_outside_the_demo_an_unsafe_setting_stops_every_command(tmp_path: Path) -> None:
    answer = run(tmp_path, "serve")
    assert answer.returncode == 2 and "PUBLIC_URL must be set" in answer.stderr


def test_doctor_migrate_doctor(tmp_path: Path) -> None:
    safe = {"PUBLIC_URL": "https://clinic.example", "SECRET_KEY": "k" * 40}
    assert run(tmp_path, "doctor", **safe).returncode == 1
    assert run(tmp_path, "serve", **safe).returncode == 2, "it does not start on a database that is not up to date"
    assert run(tmp_path, "migrate", **safe).returncode == 0
    assert run(tmp_path, "doctor", **safe).returncode == 0


def test_an_empty_database_becomes_a_clinic_in_which_people_sign_in(tmp_path: Path) -> None:
    safe = {"PUBLIC_URL": "https://clinic.example", "SECRET_KEY": "k" * 40}
    of_clinic = ("--name", "One", "--town", "T", "--phone", "1", "--out-of-hours", "Ring.", "--administrator", "Ada", "--sign-in", "ada")
    colleague = ("staff", "--name", "Otto", "--role", "orthoptist", "--sign-in")
    assert run(tmp_path, "clinic", *of_clinic, "--time-zone", "Europe/Lisbon", **safe).returncode == 2, "not before it is migrated"
    run(tmp_path, "migrate", **safe)
    assert "no clinic" in run(tmp_path, *colleague, "otto", typed="a long enough password\n", **safe).stderr
    assert "not a time zone" in run(tmp_path, "clinic", *of_clinic, "--time-zone", "Lisbon", typed="a long enough password\n", **safe).stderr
    assert "at least 12" in run(tmp_path, "clinic", *of_clinic, "--time-zone", "Europe/Lisbon", typed="short\n", **safe).stderr
    assert run(tmp_path, "clinic", *of_clinic, "--time-zone", "Europe/Lisbon", typed="a long enough password\n", **safe).returncode == 0
    assert "taken" in run(tmp_path, *colleague, "ada", typed="a long enough password\n", **safe).stderr
    assert run(tmp_path, *colleague, "otto", typed="another long password\n", **safe).returncode == 0
    engine = open_engine(f"sqlite:///{tmp_path / 'x.db'}")
    with writing(engine) as session:
        assert sign_in(session, "ada", "a long enough password", "a", NOW) and sign_in(session, "otto", "another long password", "a", NOW)
        otto = people.credentials(session, "otto")
        assert otto and otto[0].role is Role.ORTHOPTIST and people.may_sign(session, otto[0], SignedKind.OCCLUSION)
    engine.dispose()


def test_the_own_model_is_printed_beside_what_was_published_with_the_difference() -> None:
    done = subprocess.run([sys.executable, "-m", "service", "response-check"], cwd=ROOT, capture_output=True, text=True, check=True)
    rows = {line.split("  ")[0]: line for line in done.stdout.splitlines()}
    assert rows["awan-2005, no patch"].split()[-3:] == ["0.00", "0.24", "-0.24"], "the gain of glasses alone is not the model's"
    assert rows["ats2a, 6 h a day, severe"].split()[-2:] == ["0.48", "-0.20"]
    assert "partly from memory" in done.stdout and "234 published" in done.stdout and not done.stderr
