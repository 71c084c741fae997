"""The demo in a real server on a free port, for browsers and calendar clients."""

import asyncio
import shutil
import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import uvicorn
from starlette.types import ASGIApp, Receive, Scope, Send

from demo_data.build import SHOWN, DemoTokens, build
from demo_data.clinic import PASSWORD, TIME_ZONE, sign_in_name
from service.app import create_app
from service.clock import StoppedClock, local_today
from service.db import open_engine
from service.facts import Role
from service.migrate import migrate
from service.settings import DemoSettings

NOW = datetime(2026, 3, 10, 9, 0, tzinfo=UTC)


@dataclass(frozen=True)
class Demo:
    address: str
    tokens: DemoTokens
    clock: StoppedClock
    answers: threading.Event  # cleared, the server takes what is sent and stays silent

    @property
    def caregiver(self) -> str:
        return f"{self.address}/family/{self.tokens.link(SHOWN)[1]}"

    @property
    def feed(self) -> str:
        return f"{self.address}/feed/{self.tokens.link(SHOWN)[0]}/plan.ics"

    def sign_in(self, page, role: Role) -> None:
        page.goto(f"{self.address}/sign-in")
        page.get_by_label("Sign-in name").fill(sign_in_name(role))
        page.get_by_label("Password").fill(PASSWORD)
        page.get_by_role("button", name="Sign in").click()
        page.wait_for_url(f"{self.address}/")


TOKENS = DemoTokens("a key of the tests")


@cache
def _built() -> TemporaryDirectory[str]:
    """The demo's database, made once in a process and copied from there on: making it takes seconds."""
    folder = TemporaryDirectory()
    engine = open_engine(f"sqlite:///{folder.name}/demo.db")
    migrate(engine)
    build(engine, local_today(NOW, TIME_ZONE), NOW, TOKENS)
    engine.dispose()
    return folder


def _while_it_answers(app: ASGIApp, answers: threading.Event) -> ASGIApp:
    async def gate(scope: Scope, receive: Receive, send: Send) -> None:
        if not answers.is_set():
            await asyncio.to_thread(answers.wait)
        await app(scope, receive, send)

    return gate


@contextmanager
def running_demo(folder: Path) -> Iterator[Demo]:
    """A copy of its own each time: what one test signs, no other sees."""
    with socket.socket() as listening:
        listening.bind(("127.0.0.1", 0))
        listening.listen()  # whoever calls before the server is up waits instead of being refused
        port = listening.getsockname()[1]
        settings = DemoSettings(port=port, public_url=f"http://127.0.0.1:{port}", database_url=f"sqlite:///{folder / 'demo.db'}")
        shutil.copytree(_built().name, folder, dirs_exist_ok=True)
        engine, clock = open_engine(settings.database_url), StoppedClock(NOW)
        answers = threading.Event()
        answers.set()
        app = _while_it_answers(create_app(settings, engine, clock), answers)
        server = uvicorn.Server(uvicorn.Config(app, access_log=False, log_config=None, lifespan="off"))
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]})
        thread.start()
        try:
            yield Demo(settings.public_url, TOKENS, clock, answers)
        finally:
            answers.set()
            server.should_exit = True
            thread.join()
            engine.dispose()
