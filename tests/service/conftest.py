"""The service on an empty database of each kind, at a time that stands still, with people to ask it things."""

from collections.abc import Callable, Iterator

import pytest
from fastapi import FastAPI
from sqlalchemy import Engine
from starlette.testclient import TestClient

from service.app import create_app
from service.clock import StoppedClock
from service.db import open_engine, writing
from service.facts import Child, Role
from service.settings import Settings
from service.store import people
from service.tokens import new_token
from tests.people import NOW, TestClinic, add_clinic, infant, register, schoolchild, session_cookie

PUBLIC_URL = "https://clinic.example"


@pytest.fixture
def engine(database_url: str) -> Iterator[Engine]:
    engine = open_engine(database_url)
    yield engine
    engine.dispose()


@pytest.fixture
def clock() -> StoppedClock:
    return StoppedClock(NOW)


@pytest.fixture
def settings(database_url: str) -> Settings:
    return Settings(public_url=PUBLIC_URL, secret_key="k" * 40, database_url=database_url)


@pytest.fixture
def app(settings: Settings, engine: Engine, clock: StoppedClock) -> FastAPI:
    return create_app(settings, engine, clock)


@pytest.fixture
def clinic(engine: Engine) -> TestClinic:
    return add_clinic(engine, "one")


@pytest.fixture
def other_clinic(engine: Engine) -> TestClinic:
    return add_clinic(engine, "two")


@pytest.fixture
def visitor(app: FastAPI) -> TestClient:
    """Somebody who is not signed in."""
    return TestClient(app, base_url=PUBLIC_URL, follow_redirects=False)


@pytest.fixture
def signed_in(app: FastAPI, engine: Engine, clock: StoppedClock, clinic: TestClinic) -> Callable[..., TestClient]:
    """A browser with a session of the given role, of the first clinic unless another is named."""

    def open_browser(role: Role, of: TestClinic = clinic) -> TestClient:
        return TestClient(app, base_url=PUBLIC_URL, cookies=session_cookie(engine, of.staff[role], clock.now()), follow_redirects=False)

    return open_browser


@pytest.fixture
def call(app: FastAPI, engine: Engine, clinic: TestClinic) -> Callable[..., TestClient]:
    """A program with a token of somebody of the given role, of the first clinic unless another is named."""

    def open_client(role: Role, of: TestClinic = clinic) -> TestClient:
        token = new_token("a")
        with writing(engine) as session:
            people.add_api_token(session, of.staff[role], token, "test", NOW)
        return TestClient(app, base_url=PUBLIC_URL, headers={"Authorization": f"Bearer {token}"}, follow_redirects=False)

    return open_client


@pytest.fixture
def baby(engine: Engine, clinic: TestClinic) -> Child:
    return register(engine, clinic, infant())


@pytest.fixture
def sam(engine: Engine, clinic: TestClinic) -> Child:
    return register(engine, clinic, schoolchild())
