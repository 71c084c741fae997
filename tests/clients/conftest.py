"""The demo for calendar programs: over HTTP, and as the bytes they would store."""

from pathlib import Path

import pytest
from starlette.testclient import TestClient

from demo_data.build import SHOWN, DemoTokens, build
from demo_data.clinic import TIME_ZONE
from service.app import create_app
from service.clock import StoppedClock, local_today
from service.db import open_engine
from service.migrate import migrate
from service.settings import DemoSettings
from tests.clients.readers import READERS
from tests.running import NOW, running_demo


@pytest.fixture
def demo(tmp_path: Path):
    with running_demo(tmp_path) as demo:
        yield demo


@pytest.fixture
def feed(tmp_path: Path) -> bytes:
    settings = DemoSettings(port=8000, public_url="https://clinic.example", database_url=f"sqlite:///{tmp_path / 'feed.db'}")
    tokens = DemoTokens("a key of the tests")
    engine = open_engine(settings.database_url)
    migrate(engine)
    build(engine, local_today(NOW, TIME_ZONE), NOW, tokens)
    answer = TestClient(create_app(settings, engine, StoppedClock(NOW)), base_url=settings.public_url).get(f"/feed/{tokens.link(SHOWN)[0]}/plan.ics")
    engine.dispose()
    assert answer.status_code == 200
    return answer.content


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """The matrix of clients: which read the corpus as it was meant, and what each can say of an alarm."""
    read = [value for report in terminalreporter.stats.get("passed", []) for name, value in report.user_properties if name == "reader"]
    if not read:
        return
    terminalreporter.section("calendar clients")
    terminalreporter.write_line(f"{'':28} instants  titles  alarms")
    for name, alarms, calendars, events in sorted(map(tuple, read)):
        terminalreporter.write_line(f"{name:28} equal     equal   {alarms}  ({events} events in {calendars} calendars, half of them reversed)")
    for name in sorted({reader.name for reader in READERS} - {name for name, *_ in read}):
        terminalreporter.write_line(f"{name:28} not read in this run")
    terminalreporter.write_line("Thunderbird, 80 MB with its display, is read with -m long; all six with -m 'long or not long'")
    terminalreporter.write_line("Apple, Google, Outlook and Android cannot run here: tests/service/test_feed.py asks as they do")
