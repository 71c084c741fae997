"""Thunderbird without a screen, subscribed to feeds by name: it asks each of them when it starts, and keeps what it read in a database."""

import os
import shutil
import sqlite3
import subprocess
import threading
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import closing, contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from uuid import NAMESPACE_URL, uuid5

import pytest
from icalendar.prop import vDuration

from tests.corpus import Seen

ALL_DAY = 1 << 3  # of its flags
LOOKS, BETWEEN_LOOKS = 60, 0.5  # half a minute; it takes four seconds
QUIET = {
    "app.update.enabled": "false",
    "calendar.alarms.show": "false",
    "calendar.alarms.playsound": "false",
    "calendar.timezone.useSystemTimezone": "false",
    "calendar.timezone.local": '"UTC"',
    "datareporting.policy.dataSubmissionPolicyBypassNotification": "true",
    "mail.provider.suppress_dialog_on_startup": "true",
    "mail.rights.version": "1",
    "mail.spotlight.firstRunDone": "true",
    "network.proxy.type": "0",
    "toolkit.telemetry.enabled": "false",
}
CALENDAR = {"type": '"ics"', "cache.enabled": "true", "readOnly": "true", "refreshInterval": '"30"'}


@dataclass(frozen=True)
class Stored:
    """One event as it lies in the database."""

    calendar: str
    uid: str
    event: Seen
    modified: int


class Thunderbird:
    """One profile, by itself in a folder."""

    def __init__(self, folder: Path, feeds: Mapping[str, str]) -> None:
        if not all(map(shutil.which, ("thunderbird", "Xvfb"))):
            pytest.skip("Thunderbird or Xvfb is not installed")
        self.home, self.names = folder, {str(uuid5(NAMESPACE_URL, name)): name for name in feeds}
        (folder / "profile").mkdir()
        registered = {f"calendar.registry.{key}.{pref}": value for key in self.names for pref, value in CALENDAR.items()}
        for key, name in self.names.items():
            registered |= {f"calendar.registry.{key}.name": f'"{name}"', f"calendar.registry.{key}.uri": f'"{feeds[name]}"'}
        (folder / "profile" / "user.js").write_text("".join(f'user_pref("{pref}", {value});\n' for pref, value in (QUIET | registered).items()))

    def start_until(self, done: Callable[[list[Stored]], bool]) -> list[Stored]:
        """Runs it until what it has stored is `done`, and gives that back as it lies there once it has closed."""
        with _screen() as display, self._running(display):
            _wait(lambda: done(self._stored()))
        return self._stored()

    @contextmanager
    def _running(self, display: str) -> Iterator[None]:
        environment = os.environ | {"HOME": str(self.home), "TZ": "UTC", "DISPLAY": display, "MOZ_CRASHREPORTER_DISABLE": "1"}
        command = ["thunderbird", "--profile", str(self.home / "profile"), "--no-remote", "-calendar"]
        program = subprocess.Popen(command, env=environment, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        try:
            yield
        finally:
            program.terminate()
            program.wait(30)

    def _stored(self) -> list[Stored]:
        """From a copy: the program holds a lock on its own."""
        files = list((self.home / "profile" / "calendar-data").glob("cache.sqlite*"))
        copied = self.home / "copy"
        shutil.rmtree(copied, ignore_errors=True)
        copied.mkdir()
        for file in files:
            shutil.copy(file, copied / file.name)
        if not (copied / "cache.sqlite").exists():
            return []
        try:
            with closing(sqlite3.connect(copied / "cache.sqlite")) as database:
                events = database.execute("SELECT cal_id, id, title, flags, event_start, event_end, last_modified FROM cal_events").fetchall()
                alarms = database.execute("SELECT cal_id, item_id, icalString FROM cal_alarms").fetchall()
        except sqlite3.DatabaseError:
            return []  # copied while it was written
        return [
            Stored(self.names[key], uid, Seen(_at(start, flags), _at(end, flags), title, _minutes(a for k, i, a in alarms if (k, i) == (key, uid))), modified)
            for key, uid, title, flags, start, end, modified in events
        ]


def _at(microseconds: int, flags: int) -> str:
    at = datetime.fromtimestamp(microseconds / 1e6, UTC)
    return f"{at:%Y-%m-%d}" if flags & ALL_DAY else f"{at:%Y-%m-%dT%H:%M:%SZ}"


def _minutes(alarms: Iterable[str]) -> tuple[int, ...]:
    triggers = [line.rpartition(":")[2] for text in alarms for line in text.splitlines() if line.startswith("TRIGGER")]
    return tuple(vDuration.from_ical(trigger) // timedelta(minutes=1) for trigger in triggers)


@contextmanager
def _screen() -> Iterator[str]:
    """A display whose number the server picks itself."""
    reading, writing = os.pipe()
    server = subprocess.Popen(
        ["Xvfb", "-displayfd", str(writing), "-screen", "0", "1024x768x24", "-nolisten", "tcp"], pass_fds=[writing], stderr=subprocess.DEVNULL
    )
    os.close(writing)
    try:
        with os.fdopen(reading) as told:
            yield f":{told.readline().strip()}"
    finally:
        server.terminate()
        server.wait(30)


def _wait(condition: Callable[[], bool]) -> None:
    tick = threading.Event()
    for _ in range(LOOKS):
        if condition():
            return
        tick.wait(BETWEEN_LOOKS)
    raise AssertionError("Thunderbird did not finish")
