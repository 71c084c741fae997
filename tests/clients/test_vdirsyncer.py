"""The feed subscribed to by a real calendar client over HTTP: the days arrive, and a second sync changes nothing."""

import os
import subprocess
from datetime import date, timedelta
from pathlib import Path

import icalendar
import pytest

from tests.running import NOW, Demo, running_demo

VDIRSYNCER = Path(__file__).parents[2] / ".venv-clients" / "bin" / "vdirsyncer"
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


@pytest.fixture
def demo(tmp_path: Path):
    with running_demo(tmp_path) as demo:
        yield demo


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
    today, review_on = NOW.date(), NOW.date() + timedelta(days=5)
    ahead = {on: title for on, title in found.items() if on >= today}
    assert ahead == {today + timedelta(days=n): "time 2 h" for n in range(5)} | {review_on: "time: plan ends"}
    assert min(found) == date(2026, 2, 8) == today - timedelta(days=30) and len(found) == len(first) == 36
    assert "Copying" not in sync(tmp_path) and "Deleting" not in sync(tmp_path)
    assert stored(tmp_path) == first
