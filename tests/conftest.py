"""What every test stands on: no network, databases of both kinds, a browser, and a loud word for whatever was skipped."""

import asyncio
import os
import shutil
import sys
import tempfile
from collections.abc import Iterator
from itertools import count
from pathlib import Path
from typing import Any

import hypothesis
import pytest

from service.db import open_engine
from service.migrate import migrate
from tests import postgres

CI = os.environ.get("CI") == "true"
LOCAL_HOSTS = {None, "", "localhost", "127.0.0.1", "::1", b"localhost", b"127.0.0.1", b"::1"}

hypothesis.settings.register_profile("ours", deadline=None, derandomize=CI)
hypothesis.settings.load_profile("ours")


# Thousands of databases are made and dropped: in memory, where there is enough, fifteen times as fast as on a disk (PostgreSQL 15, November 2026).
MEMORY, ENOUGH_BYTES = Path("/dev/shm"), 6 * 2**30
if "TMPDIR" not in os.environ and os.access(MEMORY, os.W_OK) and shutil.disk_usage(MEMORY).free > ENOUGH_BYTES:
    os.environ["TMPDIR"] = tempfile.tempdir = str(MEMORY)


def _stay_on_this_machine(event: str, arguments: tuple[Any, ...]) -> None:
    host: object = None
    if event in ("socket.connect", "socket.sendto"):
        address = arguments[1]
        host = address[0] if isinstance(address, tuple) else None
    elif event == "socket.getaddrinfo":
        host = arguments[0]
    if host not in LOCAL_HOSTS:
        raise RuntimeError(f"a test reached for the network: {host!r}")


sys.addaudithook(_stay_on_this_machine)


@pytest.fixture(autouse=True)
def _no_loop_of_the_browsers(request: pytest.FixtureRequest) -> Iterator[None]:
    """Chromium's driver leaves its own event loop marked as running in this thread; what is tested here runs loops of its own."""
    loop = None if request.node.get_closest_marker("browser") else asyncio._get_running_loop()
    if loop is not None:
        asyncio._set_running_loop(None)
    yield
    if loop is not None:
        asyncio._set_running_loop(loop)


@pytest.fixture(scope="session")
def postgres_host() -> Iterator[str]:
    """The running cluster; each worker of pytest-xdist has its own."""
    binaries = postgres.find_binaries()
    if binaries is None:
        pytest.skip("PostgreSQL is not installed")
    with postgres.running_cluster(binaries) as host:
        yield host


_numbers = count(1)


def _migrated(url: str) -> None:
    engine = open_engine(url)
    migrate(engine)
    engine.dispose()


@pytest.fixture(scope="session")
def migrated_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A SQLite database at the newest revision, made once and copied: the migrations take longer than most tests."""
    path = tmp_path_factory.mktemp("migrated") / "test.db"
    _migrated(f"sqlite:///{path}")
    return path


@pytest.fixture(scope="session")
def migrated_template(postgres_host: str) -> Iterator[str]:
    """The same in PostgreSQL, as a template."""
    with postgres.new_database(postgres_host, "migrated") as url:
        _migrated(url)
        yield "migrated"


@pytest.fixture(params=["sqlite", "postgresql"])
def database_url(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[str]:
    """The address of a database on the embedded default and on PostgreSQL in turn: at the newest revision for a test with an `engine`, else empty."""
    ready = "engine" in request.fixturenames
    if request.param == "sqlite":
        path = tmp_path / "test.db"
        if ready:
            shutil.copyfile(request.getfixturevalue("migrated_file"), path)
        yield f"sqlite:///{path}"
    else:
        template = request.getfixturevalue("migrated_template") if ready else "template0"
        with postgres.new_database(request.getfixturevalue("postgres_host"), f"test_{next(_numbers)}", template) as url:
            yield url


@pytest.fixture(scope="session")
def browser_type_launch_args(browser_type_launch_args: dict[str, Any]) -> dict[str, Any]:
    """Debian's Chromium in place of the one that Playwright would download."""
    chromium = shutil.which("chromium")
    if chromium is None:
        pytest.skip("Chromium is not installed")
    return {**browser_type_launch_args, "executable_path": chromium}


@pytest.hookimpl(trylast=True)
def pytest_sessionfinish(session: pytest.Session) -> None:
    """Under CI=true a skipped test fails the run: a check that did not happen is not a check that passed."""
    if CI and _skipped(session.config) and session.exitstatus == pytest.ExitCode.OK:
        session.exitstatus = pytest.ExitCode.TESTS_FAILED


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter, config: pytest.Config) -> None:
    if skipped := _skipped(config):
        terminalreporter.section("SKIPPED" + (", which fails the run under CI=true" if CI else ""), red=CI, yellow=not CI)
        for nodeid, reason in skipped:
            terminalreporter.line(f"{nodeid}: {reason}")
    for report in terminalreporter.getreports("passed"):
        for name, value in report.user_properties:
            if name == "says":
                terminalreporter.line(f"{report.nodeid}: {value}")


def _skipped(config: pytest.Config) -> list[tuple[str, str]]:
    reporter = config.pluginmanager.get_plugin("terminalreporter")  # none in a worker of pytest-xdist
    reports = reporter.stats.get("skipped", []) if reporter else []
    return [(report.nodeid, report.longrepr[2]) for report in reports]
