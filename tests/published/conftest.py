"""After the worked cases: how many passed, by source, and how many of them were read in the source."""

from collections import Counter

import pytest

LEFT_OUT = (
    ("Trivedi and Wilson: 17.125 mm of length need 29.6 D", "the printed mean stands in the table from which the regression's domain is worked out"),
    ("Moore 1989: 26.36 D at twelve months", "it stands in the table that the code reads"),
    (
        "McClatchey and Hofmeister 2010: change of the implant's power on the +0.6 year scale",
        "needs a formula with a constant of the surgeon's; not computed here",
    ),
    ("Stewart 2007: 170 h and 236 h for 0.2 logMAR", "from memory: what is from memory checks nothing"),
    ("Consistency of patching by start times (PMID 39736361)", "entries of wear carry no time of day"),
)


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
    for case, reason in LEFT_OUT:
        terminalreporter.write_line(f"    –  left out         {case}: {reason}")
    terminalreporter.write_line(f"{len(passed)} worked cases ran, {by_status['read']} of them read in the source: {dict(by_status)}")
