"""From the clock on the wall to an instant. A day belongs to a zone; a dose is elapsed minutes, so a clock change never alters it."""

from datetime import UTC, date, datetime, time, timedelta
from functools import cache
from zoneinfo import ZoneInfo, available_timezones

from shared.errors import ClinicalInputError
from shared.findings import msg

_NO_PLACE = {"Factory", "localtime"}  # in the data base of zones, but the zone of nowhere and of whatever machine reads it


@cache
def zone_names() -> frozenset[str]:
    """Every zone a child can be in."""
    return frozenset(available_timezones() - _NO_PLACE)


def zone_named(name: str) -> ZoneInfo:
    """The IANA zone. Raises `ClinicalInputError` naming `time_zone` for one that is not known."""
    if name not in zone_names():
        raise ClinicalInputError("time_zone", msg("%(name)s is no time zone. Give one such as Europe/Lisbon.", name=name))
    return ZoneInfo(name)


def instant(on: date, wall_minutes: int, zone: ZoneInfo) -> datetime:
    """The instant in UTC at which the clock of `zone` shows `wall_minutes` after midnight of `on`.

    A time that the clock skips lies after the skip by as much as it would have lain before its end; one that comes twice is the first.
    """
    return (datetime.combine(on, time(), zone) + timedelta(minutes=wall_minutes)).astimezone(UTC)
