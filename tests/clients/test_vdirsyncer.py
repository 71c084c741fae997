"""The feed subscribed to by a real calendar client over HTTP: the days arrive, and a second sync changes nothing."""

import os
import subprocess
from pathlib import Path

import icalendar
import pytest

from tests.clients.expected import CLIENTS, DAYS
from tests.running import Demo

VDIRSYNCER = CLIENTS / "bin" / "vdirsyncer"
CONFIG = """
[general]
status_path = "{folder}/status"
[pair plan]
a = "feed"
b = "local"
collections = null
conflict_resolution = "a wins"
[storage feed]
type = "http"
url = "{feed}"
[storage local]
type = "filesystem"
path = "{folder}/calendar"
fileext = ".ics"
"""


def sync(folder: Path) -> str:
    environment = os.environ | {"VDIRSYNCER_CONFIG": str(folder / "config")}
    done = subprocess.run([VDIRSYNCER, "-vinfo", "sync"], env=environment, capture_output=True, text=True, timeout=60, check=True)
    return done.stdout + done.stderr


def stored(folder: Path) -> dict[str, bytes]:
    return {p.name: p.read_bytes() for p in (folder / "calendar").glob("*.ics")}


def test_a_subscriber_gets_every_day_once_and_a_second_sync_changes_nothing(demo: Demo, tmp_path: Path) -> None:
    if not VDIRSYNCER.exists():
        pytest.skip("the calendar clients are not installed")
    (tmp_path / "config").write_text(CONFIG.format(folder=tmp_path, feed=demo.feed))
    (tmp_path / "calendar").mkdir()
    subprocess.run(
        [VDIRSYNCER, "discover"], env=os.environ | {"VDIRSYNCER_CONFIG": str(tmp_path / "config")}, input="y\n", text=True, check=True, capture_output=True
    )
    sync(tmp_path)
    first = stored(tmp_path)
    found = {e.decoded("dtstart"): str(e["summary"]) for body in first.values() for e in icalendar.Calendar.from_ical(body).walk("VEVENT")}
    assert found == DAYS and len(first) == len(DAYS)
    assert "Copying" not in sync(tmp_path) and "Deleting" not in sync(tmp_path)
    assert stored(tmp_path) == first
