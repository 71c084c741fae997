"""A day of a family as a form has it: its fields, filled from a day that is known, and the day read back from what was typed."""

import re
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from schedules.day import AwakeDay, ClockDay, Stay, Weekday, clock
from schedules.routine import Day
from service.forms import Form
from service.times_typed import named_windows, time, typed, windows
from shared.errors import ClinicalInputError
from shared.findings import msg

# Common practice, where nobody has said otherwise: three times a day, half an hour at least, and half an hour of calm before bed.
MOST_SESSIONS, SHORTEST_MINUTES, GAP_MINUTES = 3, 30, 30
DAY_MINUTES = 24 * 60
# What a form calls the fields of the domain where they differ; a family's form has no place for the last.
FIELDS = {
    "wake_minutes": "wake",
    "sleep_minutes": "sleep",
    "shortest_session_minutes": "shortest_session",
    "gap_before_bed_minutes": "gap_before_bed",
    "nursery": "nursery_patching",
    "days": "weekdays",
    "last_on": "until_on",
    "holidays": "until_on",
}
FAMILY_FIELDS = FIELDS | dict.fromkeys(("activities", "preferred", "near_work", "screen_free", "shortest_session_minutes", "gap_before_bed_minutes"), "wake")


def values_of(day: Day | None) -> dict[str, str]:
    """A form's values for a day; for one that nobody has described, what is common practice."""
    if isinstance(day, AwakeDay):
        return {"awake_stretches": ", ".join(map(str, day.awake_stretches)), **_limits(None)}
    if day is None:
        return _limits(None)
    stays = {patches: typed([stay for stay in day.nursery if stay.patches is patches]) for patches in (True, False)}
    windows_of = {name: typed(getattr(day, name)) for name in ("naps", "activities", "unwelcome", "preferred", "near_work", "screen_free")}
    hours = {"wake": clock(day.wake_minutes), "sleep": clock(day.sleep_minutes), "nursery_patching": stays[True], "nursery_other": stays[False]}
    return {**hours, **windows_of, **_limits(day)}


def _limits(day: ClockDay | None) -> dict[str, str]:
    found = (day.most_sessions, day.shortest_session_minutes, day.gap_before_bed_minutes) if day else (MOST_SESSIONS, SHORTEST_MINUTES, GAP_MINUTES)
    return dict(zip(("most_sessions", "shortest_session", "gap_before_bed"), map(str, found), strict=True))


def read_day(form: Form, weekday: Weekday) -> Day | None:
    """The day as typed; None where an error stands beside a field. Lengths awake, where they are given, take the place of the clock."""
    with form.catching(FIELDS):
        return _awake_day(form, weekday) if form.raw("awake_stretches") else _clock_day(form, weekday)
    return None


def told_by_family(form: Form) -> dict[str, Any]:
    """The hours that a family types, by the fields of a day."""
    hours = {"wake_minutes": time(form, "wake"), "sleep_minutes": time(form, "sleep")}
    return {**hours, "naps": windows(form, "naps"), "nursery": _stays(form), "unwelcome": named_windows(form, "unwelcome")}


def with_told(told: Mapping[str, Any], weekday: Weekday, before: Day | None) -> ClockDay:
    """A day with these hours, its other particulars as they were. Raises `ClinicalInputError` naming the field."""
    if isinstance(before, ClockDay):
        return replace(before, day=weekday, **told)
    return ClockDay(weekday, most_sessions=MOST_SESSIONS, shortest_session_minutes=SHORTEST_MINUTES, gap_before_bed_minutes=GAP_MINUTES, **told)


def _awake_day(form: Form, weekday: Weekday) -> AwakeDay | None:
    parts = re.split(r"[,;\s]+", form.optional_text("awake_stretches"))
    if not all(part.isdecimal() and len(part) <= 4 for part in parts):
        raise ClinicalInputError("awake_stretches", msg("Minutes of each stretch, parted by commas: 90, 105, 120."))
    return None if form.errors else AwakeDay(weekday, tuple(map(int, parts)))


def _clock_day(form: Form, weekday: Weekday) -> ClockDay | None:
    fields = {name: windows(form, name) for name in ("naps", "preferred", "near_work", "screen_free")}
    named = {name: named_windows(form, name) for name in ("activities", "unwelcome")}
    wake, sleep, stays = time(form, "wake"), time(form, "sleep"), _stays(form)
    most, shortest, before_bed = (
        form.whole("most_sessions", 0, DAY_MINUTES, ""),
        form.whole("shortest_session", 0, DAY_MINUTES, "min"),
        form.whole("gap_before_bed", 0, DAY_MINUTES, "min"),
    )
    if form.errors:
        return None
    return ClockDay(weekday, wake, sleep, most, shortest, before_bed, nursery=stays, **fields, **named)  # type: ignore[arg-type]


def _stays(form: Form) -> tuple[Stay, ...]:
    of_both = (("nursery_patching", True), ("nursery_other", False))
    return tuple(Stay(w.start_minutes, w.end_minutes, patches) for name, patches in of_both for w in windows(form, name))
