"""A family's day as it is typed: times and windows in one line each, `12:30-14:00, 16:00-17:00 swimming`."""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from schedules.day import AwakeDay, ClockDay, NamedWindow, Stay, Weekday, Window, clock
from schedules.routine import Day
from shared.errors import ClinicalInputError
from shared.findings import Message, msg

_TIME = r"(\d{1,2})(?:[:.](\d\d))?"
_WINDOW = re.compile(rf"{_TIME}\s*(?:-|–|to)\s*{_TIME}\s*(.*)")
_BETWEEN = re.compile(r"\s*[,;]\s*(?=\d)")
LONGEST = 300
WINDOWS = msg("From and to, as 12:30-14:00, 16:00-17:00.")
NAMED = msg("From and to with a word, as 16:00-17:00 swimming.")


@dataclass(frozen=True)
class DayField:
    """One line of a day. `family` are the words that ask a family for it; None: the clinic alone is asked."""

    name: str
    label: Message
    hint: Message | None = None
    family: Message | None = None
    kind: str = "text"


FIELDS = (
    DayField("wake_minutes", msg("Wakes"), family=msg("Wakes up at"), kind="time"),
    DayField("sleep_minutes", msg("Sleeps"), family=msg("Goes to sleep at"), kind="time"),
    DayField("naps", msg("Naps"), WINDOWS, msg("Naps")),
    DayField("nursery_patches", msg("Nursery or school that patches"), WINDOWS, msg("Nursery or school that puts the patch on")),
    DayField("nursery_closed", msg("Nursery or school that does not"), WINDOWS, msg("Nursery or school that does not")),
    DayField("activities", msg("Fixed activities"), NAMED),
    DayField("unwelcome", msg("Patching unwelcome, in the family's words"), NAMED, msg("Times when the patch is a bad idea, in your words")),
    DayField("preferred", msg("Preferred"), WINDOWS),
    DayField("near_work", msg("Near work"), WINDOWS),
    DayField("screen_free", msg("Free of screens"), WINDOWS),
    DayField("most_sessions", msg("Most sessions"), kind="count"),
    DayField("shortest_session_minutes", msg("Shortest session, minutes"), kind="count"),
    DayField("gap_before_bed_minutes", msg("Free before bed, minutes"), kind="count"),
    DayField(
        "awake_stretches",
        msg("Instead of times: stretches awake, minutes"),
        msg("For a baby whose naps still move, as 90, 120, 120."),
        msg("For a baby without fixed times: minutes awake between sleeps"),
    ),
)
FAMILY_FIELDS = tuple(field for field in FIELDS if field.family)
USUAL = {"most_sessions": "3", "shortest_session_minutes": "30", "gap_before_bed_minutes": "30"}  # common practice, where nobody was asked


def written(day: Day | None) -> dict[str, str]:
    """A day as somebody would have typed it; of a day that is not known only what is usual."""
    if day is None:
        return dict(USUAL)
    if isinstance(day, AwakeDay):
        return USUAL | {"awake_stretches": ", ".join(map(str, day.awake_stretches))}
    return {
        "wake_minutes": clock(day.wake_minutes),
        "sleep_minutes": clock(day.sleep_minutes),
        "naps": _text(day.naps),
        "nursery_patches": _text(stay for stay in day.nursery if stay.patches),
        "nursery_closed": _text(stay for stay in day.nursery if not stay.patches),
        "activities": _text(day.activities),
        "unwelcome": _text(day.unwelcome),
        "preferred": _text(day.preferred),
        "near_work": _text(day.near_work),
        "screen_free": _text(day.screen_free),
        "most_sessions": str(day.most_sessions),
        "shortest_session_minutes": str(day.shortest_session_minutes),
        "gap_before_bed_minutes": str(day.gap_before_bed_minutes),
    }


def read_day(day: Weekday | date, typed: Mapping[str, str]) -> Day:
    """`typed` holds at least what `USUAL` does. Raises `ClinicalInputError` naming the line that cannot be."""
    if typed.get("awake_stretches"):
        if typed.get("wake_minutes") or typed.get("sleep_minutes"):
            raise ClinicalInputError("awake_stretches", msg("Give times of waking and sleeping or stretches awake, not both."))
        return AwakeDay(day, tuple(_whole("awake_stretches", part.strip()) for part in re.split("[,;]", typed["awake_stretches"])))
    return ClockDay(
        day,
        _time("wake_minutes", typed.get("wake_minutes", "")),
        _time("sleep_minutes", typed.get("sleep_minutes", "")),
        most_sessions=_whole("most_sessions", typed["most_sessions"]),
        shortest_session_minutes=_whole("shortest_session_minutes", typed["shortest_session_minutes"]),
        gap_before_bed_minutes=_whole("gap_before_bed_minutes", typed["gap_before_bed_minutes"]),
        naps=_windows("naps", typed),
        nursery=(
            *(Stay(w.start_minutes, w.end_minutes, patches=True) for w in _windows("nursery_patches", typed)),
            *(Stay(w.start_minutes, w.end_minutes, patches=False) for w in _windows("nursery_closed", typed)),
        ),
        activities=_named("activities", typed),
        unwelcome=_named("unwelcome", typed),
        preferred=_windows("preferred", typed),
        near_work=_windows("near_work", typed),
        screen_free=_windows("screen_free", typed),
    )


def _text(windows: Iterable[Window]) -> str:
    return ", ".join(f"{clock(w.start_minutes)}-{clock(w.end_minutes)}{f' {w.words}' if isinstance(w, NamedWindow) and w.words else ''}" for w in windows)


def _windows(name: str, typed: Mapping[str, str]) -> tuple[Window, ...]:
    found = _named(name, typed)
    if words := next((w.words for w in found if w.words), None):
        raise ClinicalInputError(name, msg("“%(typed)s” is no time; from and to alone, as 12:30-14:00.", typed=words))
    return tuple(Window(w.start_minutes, w.end_minutes) for w in found)


def _named(name: str, typed: Mapping[str, str]) -> tuple[NamedWindow, ...]:
    return tuple(_one(name, part) for part in _BETWEEN.split(typed.get(name, "").strip()) if part)


def _one(name: str, part: str) -> NamedWindow:
    found = _WINDOW.fullmatch(part)
    if found is None:
        raise ClinicalInputError(name, msg("“%(typed)s” is no window of time; from and to would be, as 12:30-14:00.", typed=part))
    start_hour, start, end_hour, end, words = found.groups()
    return NamedWindow(_minutes(name, part, start_hour, start), _minutes(name, part, end_hour, end), words)


def _time(name: str, typed: str) -> int:
    found = re.fullmatch(_TIME, typed)
    if found is None:
        raise ClinicalInputError(name, msg("“%(typed)s” is no time; hours and minutes would be, as 07:30.", typed=typed))
    return _minutes(name, typed, *found.groups())


def _minutes(name: str, typed: str, hours: str, minutes: str | None) -> int:
    rest = int(minutes or 0)
    if rest >= 60:
        raise ClinicalInputError(name, msg("“%(typed)s” is no time; hours and minutes would be, as 07:30.", typed=typed))
    return int(hours) * 60 + rest


def _whole(name: str, typed: str) -> int:
    if not re.fullmatch(r"[0-9]{1,4}", typed):
        raise ClinicalInputError(name, msg("“%(typed)s” is no whole number.", typed=typed))
    return int(typed)
