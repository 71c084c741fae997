"""Calendar programs as readers: each is given calendars by name and says which events it found. None shares code with what wrote them but the first."""

import json
import os
import re
import shutil
import subprocess
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
import recurring_ical_events  # type: ignore[import-untyped]
from icalendar import Calendar
from icalendar.prop import vDuration

from tests.clients.expected import CLIENTS
from tests.clients.subscribing import Subscriber, served
from tests.clients.thunderbird import subscribed
from tests.corpus import Seen

Bodies = Mapping[str, bytes]
Found = dict[str, list[Seen]]


@dataclass(frozen=True)
class Reader:
    """`told` is what a program can tell of an event: some say only that there is an alarm, or nothing of it."""

    name: str
    read: Callable[[Bodies, Path], Found]
    alarms: str
    told: Callable[[Seen], Seen] = lambda seen: seen
    long: bool = False


def seen(start: datetime | str, end: datetime | str, title: str, alarms: tuple[int, ...] = ()) -> Seen:
    written = [f"{at.astimezone(UTC):%Y-%m-%dT%H:%M:%SZ}" if isinstance(at, datetime) else str(at) for at in (start, end)]
    return Seen(*written, title, alarms)


def whether(event: Seen) -> Seen:
    return replace(event, alarms=(0,) if event.alarms else ())


def whether_on_the_clock(event: Seen) -> Seen:
    return whether(event) if "T" in event.start else replace(event, alarms=())


def run(*command: object, given: bytes = b"", **environment: str) -> str:
    if not Path(str(command[0])).exists():
        pytest.skip("the calendar clients are not installed")
    done = subprocess.run([str(c) for c in command], env=os.environ | {"TZ": "UTC"} | environment, input=given, capture_output=True, timeout=120, check=False)
    assert done.returncode == 0, done.stderr.decode()
    return done.stdout.decode()


def recurring(bodies: Bodies, _: Path) -> Found:
    def one(body: bytes) -> list[Seen]:
        events = recurring_ical_events.of(Calendar.from_ical(body)).all()
        return [seen(e["DTSTART"].dt, e["DTEND"].dt, str(e["SUMMARY"]), tuple(_minutes(a["TRIGGER"].dt) for a in e.walk("VALARM"))) for e in events]

    return {name: one(body) for name, body in bodies.items()}


def _minutes(trigger: timedelta) -> int:
    return trigger // timedelta(minutes=1)


NODE = CLIENTS / "bin" / "node"
READ_ICAL_JS = """
const ICAL = require("ical.js");
const read = body => new ICAL.Component(ICAL.parse(body)).getAllSubcomponents("vevent").map(component => {
  const event = new ICAL.Event(component);
  return [event.startDate, event.endDate].map(String).concat([event.summary, component.getAllSubcomponents("valarm").map(
    alarm => alarm.getFirstPropertyValue("trigger").toSeconds() / 60)]);
});
"""
READ_NODE_ICAL = """
const ical = require("node-ical");
const written = at => at.dateOnly ? at.toISOString().slice(0, 10) : at.toISOString().replace(".000", "");
const read = body => Object.values(ical.sync.parseICS(body)).filter(part => part.type === "VEVENT").map(
  event => [written(event.start), written(event.end), event.summary, (event.alarms ?? []).map(alarm => alarm.trigger)]);
"""
READ_ALL = """
const bodies = JSON.parse(require("fs").readFileSync(0, "utf8"));
console.log(JSON.stringify(Object.fromEntries(Object.entries(bodies).map(([name, body]) => [name, read(body)]))));
"""


def in_node(script: str, bodies: Bodies) -> Found:
    if not (CLIENTS / "node_modules" / "node-ical").exists():
        pytest.skip("the calendar clients are not installed")
    given = json.dumps({name: body.decode() for name, body in bodies.items()}).encode()
    done = subprocess.run(
        [NODE, "-e", script + READ_ALL], cwd=CLIENTS, env=os.environ | {"TZ": "UTC"}, input=given, capture_output=True, timeout=120, check=False
    )
    assert done.returncode == 0, done.stderr.decode()
    return {
        name: [seen(start, end, title, tuple(map(_in_minutes, alarms))) for start, end, title, alarms in rows] for name, rows in json.loads(done.stdout).items()
    }


def _in_minutes(trigger: float | str) -> int:
    return _minutes(vDuration.from_ical(trigger)) if isinstance(trigger, str) else int(trigger)


KHAL = CLIENTS / "bin" / "khal"
LOCALE = """
[sqlite]
path = {folder}/khal.db
[locale]
timeformat = %H:%M
dateformat = %Y-%m-%d
longdateformat = %Y-%m-%d
datetimeformat = %Y-%m-%d %H:%M
longdatetimeformat = %Y-%m-%dT%H:%M:00Z
local_timezone = UTC
default_timezone = UTC
"""


def khal_through_vdirsyncer(bodies: Bodies, folder: Path) -> Found:
    """Fetched over HTTP, split into files and stored by the one, listed by the other; a further sync finds nothing to do."""
    with served(bodies) as address:
        subscriber = Subscriber(folder, {name: f"{address}/{name}/plan.ics" for name in bodies})
        subscriber.sync()
        stored = subscriber.stored()
        assert "Copying" not in (again := subscriber.sync()), again
        assert "Deleting" not in again, again
        assert subscriber.stored() == stored
    calendars = "[calendars]\n" + "".join(f"[[{name}]]\npath = {subscriber.calendar(name)}\n" for name in bodies)
    (folder / "khal").write_text(calendars + LOCALE.format(folder=folder))
    what = "{calendar}|{all-day}|{start-long-full}|{end-long-full}|{alarm-symbol}|{title}"
    listed = run(KHAL, "-c", folder / "khal", "list", "--day-format", "", "--format", what, "2026-01-01", "2026-12-31", HOME=str(folder))
    found: Found = {name: [] for name in bodies}
    for line in listed.splitlines():
        name, all_day, start, end, alarm, title = line.split("|", 5)
        if all_day == "True":
            start, end = start[:10], str(datetime.fromisoformat(end[:10]).date() + timedelta(days=1))
        found[name].append(seen(start, end, title, (0,) if alarm.strip() else ()))
    return found


CALCURSE = Path(shutil.which("calcurse") or "/usr/bin/calcurse")
_ALL_DAY = re.compile(r"(\d\d/\d\d/\d{4}) \[1\] (?:>\w+ )?(.*)")
_ON_THE_CLOCK = re.compile(r"(\d\d/\d\d/\d{4} @ \d\d:\d\d) -> (\d\d/\d\d/\d{4} @ \d\d:\d\d)(?:>\w+ | )?([!|])(.*)")


def calcurse(bodies: Bodies, folder: Path) -> Found:
    """What it keeps after an import, in its own file."""
    found: Found = {}
    for name, body in bodies.items():
        (folder / name).mkdir()
        (folder / f"{name}.ics").write_bytes(body)
        run(CALCURSE, "-q", "-D", folder / name, "-i", folder / f"{name}.ics", LC_ALL="C.UTF-8")
        found[name] = [_kept(line) for line in (folder / name / "apts").read_text().splitlines()]
    return found


def _kept(line: str) -> Seen:
    if day := _ALL_DAY.fullmatch(line):
        on = datetime.strptime(day[1], "%m/%d/%Y").replace(tzinfo=UTC).date()
        return seen(str(on), str(on + timedelta(days=1)), day[2])
    timed = _ON_THE_CLOCK.fullmatch(line)
    assert timed, line
    start, end = (datetime.strptime(text, "%m/%d/%Y @ %H:%M").replace(tzinfo=UTC) for text in timed.group(1, 2))
    return seen(start, end, timed[4], (0,) if timed[3] == "!" else ())


def thunderbird(bodies: Bodies, folder: Path) -> Found:
    """Fetched over HTTP and kept; a further refresh changes nothing. It says when an alarm rings, not what was written of it."""
    with served(bodies) as address, subscribed(folder, {name: f"{address}/{name}/plan.ics" for name in bodies}) as program:
        stored = program.stored()
        program.sync()
        assert program.stored() == stored
        return {name: [seen(_at(start), _at(end), title, tuple(alarms)) for start, end, title, alarms in rows] for name, rows in program.events().items()}


def _at(written: str) -> datetime | str:
    return datetime.fromisoformat(written) if "T" in written else str(date.fromisoformat(written))


READERS = (
    Reader("recurring-ical-events", recurring, "minutes"),
    Reader("ical.js", lambda bodies, _: in_node(READ_ICAL_JS, bodies), "minutes"),
    Reader("node-ical", lambda bodies, _: in_node(READ_NODE_ICAL, bodies), "minutes"),
    Reader("khal through vdirsyncer", khal_through_vdirsyncer, "yes or no", whether),
    Reader("calcurse", calcurse, "yes or no, of timed events", whether_on_the_clock),
    Reader("Thunderbird", thunderbird, "minutes", long=True),
)
