"""Every zone and every clock change from 2024 to 2037: a planned day's minutes are those prescribed, whatever the clock does.

What the clocks do is told by `zdump` of the C library, which reads the zones without `zoneinfo`.
"""

import re
import subprocess
from datetime import UTC, date, datetime, time, timedelta
from functools import cache
from zoneinfo import ZoneInfo

import pytest

from schedules.day import ClockDay, NamedWindow, Weekday, Window
from schedules.local_time import instant, zone_named, zone_names
from schedules.planner import PlannedDay, plan_day
from shared.errors import ClinicalInputError
from tests.schedules.days import clock_day, resolved

_DAY, _MINUTE = timedelta(days=1), timedelta(minutes=1)
_LINE = re.compile(r"(\S+) +\w+ (\w+ +\d+ [\d:]+ \d+) UT = .* gmtoff=(-?\d+)")
Change = tuple[datetime, timedelta, timedelta]  # the first instant after it, the offset before and after

# A session could begin in each hour of the day and night, and none may reach over the end of its hour.
HOURLY = ClockDay(Weekday.SUNDAY, 0, 1440, 12, 20, activities=tuple(NamedWindow(60 * h + 55, 60 * h + 60, "a break") for h in range(24)))
WHOLE = ClockDay(Weekday.SUNDAY, 0, 1440, 1, 20)
ORDINARY = clock_day(Weekday.SUNDAY, preferred=(Window(16 * 60, 18 * 60),))


@cache
def groups() -> dict[tuple[Change, ...], list[str]]:
    """The zones whose clocks change at all, by what they do."""
    command = ["zdump", "-V", "-c", "2024,2038", *sorted(zone_names())]
    dumped = subprocess.run(command, capture_output=True, text=True, check=True, env={"LC_ALL": "C"}).stdout
    lines: dict[str, list[tuple[datetime, timedelta]]] = {}
    for line in dumped.splitlines():
        match = _LINE.fullmatch(line)
        assert match, line
        at = datetime.strptime(match[2], "%b %d %H:%M:%S %Y").replace(tzinfo=UTC)
        lines.setdefault(match[1], []).append((at, timedelta(seconds=int(match[3]))))
    found: dict[tuple[Change, ...], list[str]] = {}
    for name, each in lines.items():
        changes = tuple((at, before, after) for (_, before), (at, after) in zip(each[::2], each[1::2], strict=True) if before != after)
        found.setdefault(changes, []).append(name)
    return found


def wall(changes: tuple[Change, ...], at: datetime) -> datetime:
    """What a clock on the wall shows, without a zone."""
    offset = next((after for changed_at, _, after in reversed(changes) if changed_at <= at), changes[0][1])
    return (at + offset).replace(tzinfo=None)


def first_instant(changes: tuple[Change, ...], naive: datetime) -> datetime:
    """When the wall first shows that time, by the offset before the next change; a skipped time too is counted on from before the change."""
    at_utc = naive.replace(tzinfo=UTC)
    return at_utc - next((before for at, before, after in changes if at_utc - max(before, after) < at), changes[-1][2])


def holds(planned: PlannedDay, prescribed_minutes: int, changes: tuple[Change, ...]) -> None:
    assert planned.minutes == prescribed_minutes and planned.finding is None
    starts_and_ends = [at.astimezone(UTC) for session in planned.sessions for at in (session.start_at, session.end_at)]
    assert starts_and_ends == sorted(starts_and_ends), "no session begins before the one before it has ended"
    for session, start_at, end_at in zip(planned.sessions, starts_and_ends[::2], starts_and_ends[1::2], strict=True):
        assert end_at - start_at == session.minutes * _MINUTE
        assert session.start_at.replace(tzinfo=None) == wall(changes, start_at), "it begins at a time that the wall really shows"
        assert session.start_at.date() == planned.on


@pytest.mark.parametrize("most", [2, pytest.param(None, marks=pytest.mark.long)])
def test_a_planned_day_keeps_its_minutes_in_every_zone_over_every_change(most: int | None) -> None:
    """Over the first two changes of each group of zones, or over all of them."""
    days = seen = 0
    for changes, names in groups().items():
        zone = ZoneInfo(names[0])
        for at, before, after in changes[:most]:
            seen += 1
            assert (after - before) % timedelta(minutes=5) == timedelta(), "the grid of five minutes holds across the change"
            for on in (wall(changes, at).date() + n * _DAY for n in (-1, 0, 1)):
                for day, minutes in ((HOURLY, 600), (WHOLE, 960), (ORDINARY, 392)):
                    holds(plan_day(minutes, resolved(day, on, zone)), minutes, changes)
                    days += 1
    zones = sum(map(len, groups().values()))
    print(f"{zones} zones with changes in {len(groups())} groups, {seen} changes, {days} planned days")  # noqa: T201
    assert zones > 150 and seen > (60 if most else 800)


def test_a_time_on_the_wall_is_the_instant_that_the_c_library_says() -> None:
    """Every five minutes from three hours before each change to three after."""
    for changes, names in groups().items():
        zone = ZoneInfo(names[0])
        for at, before, _ in changes[:8]:
            for n in range(-36, 37):
                naive = (at + before).replace(tzinfo=None) + n * 5 * _MINUTE
                found = instant(naive.date(), naive.hour * 60 + naive.minute, zone)
                assert found == first_instant(changes, naive), (names[0], naive)


@pytest.mark.parametrize(
    ("zone", "on", "wall", "expected"),
    [
        ("Europe/Lisbon", date(2026, 3, 29), "00:55", "2026-03-29 00:55"),
        ("Europe/Lisbon", date(2026, 3, 29), "01:00", "2026-03-29 01:00"),  # skipped: 02:00 on the wall
        ("Europe/Lisbon", date(2026, 3, 29), "01:30", "2026-03-29 01:30"),  # skipped: 02:30
        ("Europe/Lisbon", date(2026, 3, 29), "02:00", "2026-03-29 01:00"),
        ("Europe/Lisbon", date(2026, 10, 25), "01:30", "2026-10-25 00:30"),  # comes twice: the first
        ("Europe/Lisbon", date(2026, 10, 25), "02:00", "2026-10-25 02:00"),
        ("Australia/Lord_Howe", date(2026, 10, 4), "02:15", "2026-10-03 15:45"),  # skips half an hour: 02:45
        ("Africa/Cairo", date(2026, 4, 24), "00:00", "2026-04-23 22:00"),  # the day begins at 01:00
        ("Africa/Cairo", date(2026, 4, 23), "24:00", "2026-04-23 22:00"),
    ],
)
def test_instants_by_hand(zone: str, on: date, wall: str, expected: str) -> None:
    hours, minutes = map(int, wall.split(":"))
    assert f"{instant(on, 60 * hours + minutes, zone_named(zone)):%Y-%m-%d %H:%M}" == expected


@pytest.mark.parametrize("name", ["Europe/Nowhere", "", "localtime", "Factory", "/etc/localtime", "../UTC", "Europe", "europe/lisbon\0"])
def test_an_unknown_zone_is_refused(name: str) -> None:
    with pytest.raises(ClinicalInputError) as refused:
        zone_named(name)
    assert refused.value.field == "time_zone"


def shown(planned: PlannedDay) -> list[str]:
    return [f"{session.start_at:%H:%M}-{session.end_at:%H:%M} {session.minutes}" for session in planned.sessions]


def test_a_window_is_as_long_as_the_time_that_really_passes_in_it() -> None:
    night = ClockDay(Weekday.SUNDAY, 0, 240, 1, 20)
    zone = zone_named("Europe/Lisbon")
    assert shown(plan_day(240, resolved(night, date(2026, 3, 22), zone))) == ["00:00-04:00 240"]
    assert shown(plan_day(240, resolved(night, date(2026, 3, 29), zone))) == ["00:00-04:00 180"]
    assert shown(plan_day(300, resolved(night, date(2026, 10, 25), zone))) == ["00:00-04:00 300"]


def test_a_nap_that_begins_at_a_skipped_time_still_ends_when_the_wall_says_and_nothing_overlaps_it() -> None:
    night = ClockDay(Weekday.SUNDAY, 0, 240, 2, 20, naps=(Window(90, 150),))  # 01:30 to 02:30, of which 01:30 is skipped
    planned = plan_day(240, resolved(night, date(2026, 3, 29), zone_named("Europe/Lisbon")))
    assert shown(planned) == ["00:00-02:30 90", "02:30-04:00 90"]


def test_a_wake_time_that_is_skipped_comes_later_by_as_much_as_the_clock_is_put_forward() -> None:
    early = ClockDay(Weekday.SUNDAY, 90, 240, 1, 20, naps=(Window(125, 130),))
    planned = plan_day(60, resolved(early, date(2026, 3, 29), zone_named("Europe/Lisbon")))
    assert shown(planned) == ["02:30-03:30 60"]


def test_a_day_before_the_change_and_one_after_have_the_same_times_on_the_wall() -> None:
    zone = zone_named("Europe/Lisbon")
    before, after = (plan_day(392, resolved(ORDINARY, on, zone)) for on in (date(2026, 3, 28), date(2026, 3, 30)))
    assert shown(before) == shown(after)
    assert all(session.start_at.timetz() >= time(7, tzinfo=zone) for session in before.sessions)
