"""The only reader of the time. Everything else is handed `now` or `today`."""

import zoneinfo
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from functools import cache
from importlib.metadata import version
from pathlib import Path
from typing import Protocol
from zoneinfo import ZoneInfo


class Clock(Protocol):
    def now(self) -> datetime:
        """The present instant, aware, in UTC, in whole seconds."""
        ...


@dataclass(frozen=True)
class SystemClock:
    """The machine's time; `shift` lets the demo live on another day while time still runs."""

    shift: timedelta = timedelta(0)

    def now(self) -> datetime:
        return datetime.now(UTC).replace(microsecond=0) + self.shift

    @staticmethod
    def on(day: date) -> "SystemClock":
        """A running clock whose today (UTC) is `day`."""
        return SystemClock(timedelta(days=(day - datetime.now(UTC).date()).days))


@dataclass
class StoppedClock:
    """A clock that stands until it is moved: the demo's story and the tests."""

    at: datetime

    def now(self) -> datetime:
        return self.at


def local_today(now: datetime, time_zone: str) -> date:
    """The calendar date of `now` in an IANA zone."""
    return now.astimezone(ZoneInfo(time_zone)).date()


@cache
def zone_rules() -> str:
    """Which edition of the rules of all time zones this process knows: the system's, else that of the `tzdata` package."""
    for known in (Path(place) / "tzdata.zi" for place in zoneinfo.TZPATH):
        if known.is_file():
            with known.open() as lines:
                return lines.readline().strip()
    return version("tzdata")
