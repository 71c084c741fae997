"""A subscriber that people see: Thunderbird, on a display of its own, asked over Marionette, the wire it has for automation."""

import json
import os
import re
import shutil
import socket
import subprocess
import threading
from collections.abc import Iterator, Mapping
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any, BinaryIO

import pytest

DEADLINE_SECONDS = 120
# it finds no other machine, and the feed without a proxy
PREFERENCES = {"marionette.port": 0, "network.dns.disabled": True, "network.proxy.type": 0}
# As its own dialog subscribes, with a copy for times without a network: a load is over when that copy is written. An answer that it does
# not like ends in a disabled calendar, which still has its items.
CALENDARS = """
const { cal } = ChromeUtils.importESModule("resource:///modules/calendar/calUtils.sys.mjs");
const feeds = arguments[0];
const named = name => cal.manager.getCalendars().find(calendar => calendar.name === name);
const loaded = (name, begin) => new Promise((resolve, reject) => {
  const over = then => { cal.manager.removeCalendarObserver(observer); then(); };
  const observer = {
    QueryInterface: ChromeUtils.generateQI(["calIObserver"]),
    onLoad: calendar => calendar.name === name && over(() => calendar.getProperty("disabled") ? reject(new Error("given up")) : resolve()),
    onError: (calendar, number, message) => over(() => reject(new Error(`${number} ${message}`))),
  };
  cal.manager.addCalendarObserver(observer);
  begin();
});
const subscribe = name => loaded(name, () => {
  const calendar = cal.manager.createCalendar("ics", Services.io.newURI(feeds[name]));
  calendar.name = name;
  calendar.setProperty("cache.enabled", true);
  cal.manager.registerCalendar(calendar);
});
const refresh = name => loaded(name, () => named(name).refresh());
const items = name => named(name).getItemsAsArray(Ci.calICalendar.ITEM_FILTER_ALL_ITEMS, 0, null, null);
const written = at => (at.isDate ? at : at.getInTimezone(cal.dtz.UTC)).icalString;
const rings = (item, alarm) => cal.alarms.calculateAlarmDate(item, alarm).subtractDate(item.startDate).inSeconds / 60;
const event = item => [written(item.startDate), written(item.endDate), item.title, item.getAlarms().map(alarm => rings(item, alarm))];
const each = async ask => Object.fromEntries(await Promise.all(Object.keys(feeds).map(async name => [name, await ask(name)])));
const eachItem = ask => each(async name => (await items(name)).map(ask));
"""


@dataclass(frozen=True)
class Thunderbird:
    """Subscribed to feeds by name."""

    wire: BinaryIO
    feeds: Mapping[str, str]

    def sync(self) -> None:
        self.ask("each(refresh)")

    def stored(self) -> dict[str, bytes]:
        kept = self.ask("eachItem(item => [item.id, item.icalString])")
        return {f"{name}/{uid}": body.encode() for name, items in kept.items() for uid, body in items}

    def events(self) -> dict[str, list[tuple[str, str, str, list[float]]]]:
        return self.ask("eachItem(event)")

    def ask(self, what: str) -> Any:
        return self.command("WebDriver:ExecuteScript", script=f"{CALENDARS}return {what}", args=[self.feeds])["value"]

    def command(self, name: str, **parameters: Any) -> Any:
        sent = json.dumps([0, 1, name, parameters]).encode()
        self.wire.write(b"%d:%b" % (len(sent), sent))
        self.wire.flush()
        _, _, error, answer = self.heard()
        assert error is None, error
        return answer

    def heard(self) -> Any:
        """A message is its length, a colon, and JSON."""
        length = b""
        while (byte := self.wire.read(1)).isdigit():
            length += byte
        return json.loads(self.wire.read(int(length)))


@contextmanager
def subscribed(folder: Path, feeds: Mapping[str, str]) -> Iterator[Thunderbird]:
    """In a new profile; whatever it waits for ends with the deadline."""
    if not (shutil.which("thunderbird") and shutil.which("Xvfb")):
        pytest.skip("Thunderbird or Xvfb is not installed")
    profile = folder / "profile"
    profile.mkdir()
    (profile / "user.js").write_text("".join(f"user_pref({json.dumps(name)}, {json.dumps(value)});\n" for name, value in PREFERENCES.items()))
    with ExitStack() as running:
        environment = {"HOME": str(folder), "TZ": "UTC", "DISPLAY": running.enter_context(_display()), "GDK_BACKEND": "x11"}
        command = ["thunderbird", "--profile", profile, "--no-remote", "--marionette", "--remote-allow-system-access"]
        program = running.enter_context(_ended(subprocess.Popen(command, env=os.environ | environment, stdout=subprocess.PIPE, text=True)))
        port = next(int(said[1]) for line in program.stdout if (said := re.search(r"Marionette\tINFO\tListening on port (\d+)", line)))
        connection = running.enter_context(socket.create_connection(("127.0.0.1", port)))
        thunderbird = Thunderbird(running.enter_context(connection.makefile("rwb")), feeds)
        thunderbird.heard()  # it greets
        thunderbird.command("WebDriver:NewSession")
        thunderbird.command("Marionette:SetContext", value="chrome")
        thunderbird.ask("each(subscribe)")
        yield thunderbird


@contextmanager
def _display() -> Iterator[str]:
    """Its number is said when it is ready."""
    read, write = os.pipe()
    with _ended(subprocess.Popen(["Xvfb", "-displayfd", str(write), "-nolisten", "tcp"], pass_fds=[write])), open(read) as said:
        os.close(write)
        yield f":{said.readline().strip()}"


@contextmanager
def _ended(process: subprocess.Popen[Any]) -> Iterator[subprocess.Popen[Any]]:
    deadline = threading.Timer(DEADLINE_SECONDS, process.kill)
    with process:
        deadline.start()
        try:
            yield process
        finally:
            deadline.cancel()
            process.kill()
