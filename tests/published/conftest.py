"""After the worked cases: how many passed, by source, and how many of them were read in the source."""

from collections import Counter

import pytest


@pytest.fixture(autouse=True)
def _noted(request: pytest.FixtureRequest, record_property) -> None:
    if "case" in request.fixturenames:
        case = request.getfixturevalue("case")
        record_property("worked_case", (case["source"], case["status"]))


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    passed = [value for report in terminalreporter.stats.get("passed", []) for name, value in report.user_properties if name == "worked_case"]
    if not passed:
        return
    by_source, by_status = Counter(map(tuple, passed)), Counter(status for _, status in passed)
    terminalreporter.section("worked cases of others")
    for (source, status), count in sorted(by_source.items()):
        terminalreporter.write_line(f"{count:5d}  {status:16} {source}")
    terminalreporter.write_line(f"{len(passed)} worked cases ran, {by_status['read']} of them read in the source: {dict(by_status)}")
