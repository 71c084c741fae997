"""The demo's clinic as it stands on two days, built once in a process."""

from collections.abc import Iterator
from datetime import UTC, date, datetime, time

import pytest
from sqlalchemy import Engine
from starlette.testclient import TestClient

from demo_data.build import DemoTokens, build
from demo_data.clinic import PASSWORD, TIME_ZONE, sign_in_name
from service.app import create_app
from service.clock import StoppedClock, local_today
from service.db import open_engine, reading
from service.facts import Role
from service.migrate import migrate
from service.settings import DemoSettings
from service.store import children
from service.views.case import Case, load
from tests.service.pages import submit

TOKENS = DemoTokens("a key of the tests")


DAYS = (date(2028, 2, 29), date(2026, 3, 31))  # a leap day; the last of a month, two days after the clocks changed


@pytest.fixture(scope="session", params=DAYS, ids=str)
def built(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Engine, datetime]]:
    now = datetime.combine(request.param, time(20), UTC)
    engine = open_engine(f"sqlite:///{tmp_path_factory.mktemp('demo') / 'demo.db'}")
    migrate(engine)
    build(engine, local_today(now, TIME_ZONE), now, TOKENS)
    yield engine, now
    engine.dispose()


@pytest.fixture(scope="session")
def cases(built: tuple[Engine, datetime]) -> dict[str, Case]:
    engine, now = built
    with reading(engine) as session:
        return {child.short_name: load(session, child, now) for child in children.children(session, 1, "", 50)}


@pytest.fixture(scope="session")
def clinician(built: tuple[Engine, datetime]) -> TestClient:
    engine, now = built
    app = create_app(DemoSettings(database_url=str(engine.url), public_url="http://demo.test"), engine, StoppedClock(now))
    browser = TestClient(app, base_url="http://demo.test")
    assert submit(browser, "/sign-in", "form_token", sign_in_name=sign_in_name(Role.CLINICIAN), password=PASSWORD).status_code == 200
    return browser
