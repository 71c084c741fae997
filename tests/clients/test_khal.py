"""The feed read by a calendar in the terminal: each day stands in it once, all day long, in whatever zone the reader lives."""

import os
import subprocess
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest

from tests.clients.expected import CLIENTS, DAYS

KHAL = CLIENTS / "bin" / "khal"
CONFIG = """
[calendars]
[[plan]]
path = {folder}/calendar
[sqlite]
path = {folder}/khal.db
[default]
default_calendar = plan
[locale]
timeformat = %H:%M
dateformat = %Y-%m-%d
longdateformat = %Y-%m-%d
datetimeformat = %Y-%m-%d %H:%M
longdatetimeformat = %Y-%m-%d %H:%M
local_timezone = {zone}
default_timezone = {zone}
"""


@pytest.fixture(params=["Pacific/Kiritimati", "Europe/Lisbon", "Pacific/Pago_Pago"])
def khal(request: pytest.FixtureRequest, tmp_path: Path) -> Callable[..., list[str]]:
    if not KHAL.exists():
        pytest.skip("the calendar clients are not installed")
    (tmp_path / "config").write_text(CONFIG.format(folder=tmp_path, zone=request.param))
    (tmp_path / "calendar").mkdir()

    def run(*arguments: str) -> list[str]:
        environment = os.environ | {"HOME": str(tmp_path), "TZ": request.param}
        done = subprocess.run([KHAL, "-c", tmp_path / "config", *arguments], env=environment, capture_output=True, text=True, timeout=60, check=True)
        assert done.stderr == ""
        return done.stdout.splitlines()

    return run


def test_each_day_stands_in_it_once_all_day_long(khal: Callable[..., list[str]], feed: bytes, tmp_path: Path) -> None:
    (tmp_path / "plan.ics").write_bytes(feed)
    khal("import", "--batch", str(tmp_path / "plan.ics"))
    first, last = DAYS[0][0] - timedelta(days=40), DAYS[-1][0] + timedelta(days=40)
    listed = khal("list", "--day-format", "", "--format", "{all-day}|{start-long}|{end-long}|{title}", str(first), str(last))
    assert listed == [f"True|{on}|{on}|{title}" for on, title in DAYS]
