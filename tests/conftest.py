"""What every test stands on: no network, databases of both kinds, a browser, and a loud word for whatever was skipped."""

import os
import shutil
import sys
from collections.abc import Iterator
from itertools import count
from pathlib import Path
from typing import Any

import hypothesis
import pytest

from tests import postgres

CI = os.environ.get("CI") == "true"
LOCAL_HOSTS = {None, "", "localhost", "127.0.0.1", "::1", b"localhost", b"127.0.0.1", b"::1"}

hypothesis.settings.register_profile("ours", deadline=None, derandomize=CI)
hypothesis.settings.load_profile("ours")


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


@pytest.fixture(scope="session")
def postgres_host() -> Iterator[str]:
    """The running cluster; each worker of pytest-xdist has its own."""
    binaries = postgres.find_binaries()
    if binaries is None:
        pytest.skip("PostgreSQL is not installed")
    with postgres.running_cluster(binaries) as host:
        yield host


_numbers = count(1)


@pytest.fixture(params=["sqlite", "postgresql"])
def database_url(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[str]:
    """The address of an empty database, on the embedded default and on PostgreSQL in turn."""
    if request.param == "sqlite":
        yield f"sqlite:///{tmp_path / 'test.db'}"
    else:
        with postgres.new_database(request.getfixturevalue("postgres_host"), f"test_{next(_numbers)}") as url:
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


def _skipped(config: pytest.Config) -> list[tuple[str, str]]:
    reporter = config.pluginmanager.get_plugin("terminalreporter")  # none in a worker of pytest-xdist
    reports = reporter.stats.get("skipped", []) if reporter else []
    return [(report.nodeid, report.longrepr[2]) for report in reports]
