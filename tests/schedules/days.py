"""Days of invented families, and a second way, from the words of the rules alone, to find a day's best sessions: try them all."""

from collections.abc import Iterator
from datetime import date
from zoneinfo import ZoneInfo

from hypothesis import strategies as st

from schedules.day import ClockDay, NamedWindow, Place, Stay, Weekday, Window
from schedules.routine import ResolvedDay, Week

UTC = ZoneInfo("UTC")
MONDAY = date(2026, 3, 2)


def clock_day(day: Weekday | date = Weekday.MONDAY, **changed: object) -> ClockDay:
    """Awake from 07:00 to 20:00, a nap after lunch, at most three sessions of twenty minutes or more."""
    usual = {
        "wake_minutes": 7 * 60,
        "sleep_minutes": 20 * 60,
        "most_sessions": 3,
        "shortest_session_minutes": 20,
        "gap_before_bed_minutes": 30,
        "naps": (Window(13 * 60, 14 * 60),),
    }
    return ClockDay(day, **usual | changed)  # type: ignore[arg-type]


def week(from_on: date = MONDAY, clock_for_infant: bool = False, **changed: object) -> Week:
    return Week(from_on, tuple(clock_day(day, **changed) for day in Weekday), clock_for_infant)


def resolved(day: ClockDay, on: date = MONDAY, zone: ZoneInfo = UTC) -> ResolvedDay:
    return ResolvedDay(on, zone, day)


def _runs(draw: st.DrawFn, start: int, slots: int, most: int) -> list[tuple[int, int]]:
    """Up to `most` windows apart from one another, inside so many slots of five minutes."""
    edges = sorted(draw(st.sets(st.integers(0, slots), max_size=2 * most)))
    return [(start + 5 * a, start + 5 * b) for a, b in zip(edges[::2], edges[1::2], strict=False)]


def _inside_or_apart(start: int, end: int, stay: Window) -> bool:
    return (stay.start_minutes <= start and end <= stay.end_minutes) or end <= stay.start_minutes or stay.end_minutes <= start


@st.composite
def days(draw: st.DrawFn, most_slots: int = 288, most_sessions: int = 12) -> ClockDay:
    """Any day that can be entered, of up to `most_slots` times five minutes."""
    slots = draw(st.integers(2, most_slots))
    wake = 5 * draw(st.integers(0, 288 - slots))
    runs = {name: _runs(draw, wake, slots, 2) for name in ("closed", "nursery", "unwelcome", "wished", "near_work")}
    nursery = [Stay(a, b, draw(st.booleans())) for a, b in runs["nursery"]]
    apart = [(a, b) for a, b in runs["closed"] if all(_inside_or_apart(a, b, stay) for stay in nursery)]
    asleep = draw(st.booleans()) and apart != [(wake, wake + 5 * slots)]
    unwelcome = [NamedWindow(a, b, "not now") for a, b in runs["unwelcome"]]
    return ClockDay(
        draw(st.sampled_from(Weekday)),
        wake,
        wake + 5 * slots,
        draw(st.integers(1, most_sessions)),
        5 * draw(st.integers(1, min(slots, 6))),
        5 * draw(st.integers(0, min(slots, 6))),
        naps=tuple(Window(a, b) for a, b in apart) if asleep else (),
        nursery=tuple(nursery),
        activities=() if asleep else tuple(NamedWindow(a, b, "swimming") for a, b in apart),
        unwelcome=tuple(unwelcome),
        preferred=tuple(Window(a, b) for a, b in runs["wished"] if all(b <= u.start_minutes or u.end_minutes <= a for u in unwelcome)),
        near_work=tuple(Window(a, b) for a, b in runs["near_work"]),
    )


def _within(windows: tuple[Window, ...], minute: int) -> bool:
    return any(w.start_minutes <= minute < w.end_minutes for w in windows)


def place_at(day: ClockDay, minute: int) -> Place | None:
    """Where a patch may be on in that minute, or None: asked of the minute, not of windows."""
    if not day.wake_minutes <= minute < day.sleep_minutes - day.gap_before_bed_minutes:
        return None
    if _within(day.naps, minute) or _within(day.activities, minute) or _within(day.unwelcome, minute):
        return None
    stays = [stay for stay in day.nursery if stay.start_minutes <= minute < stay.end_minutes]
    if not stays:
        return Place.HOME
    return Place.NURSERY if stays[0].patches else None


Sessions = tuple[tuple[int, int], ...]


def every_choice(day: ClockDay, prescribed_minutes: int) -> Iterator[Sessions]:
    """Every list of (start, minutes) that the rules allow, in minutes after midnight."""
    places = [place_at(day, minute) for minute in range(24 * 60 + 1)]
    shortest = min(day.shortest_session_minutes, prescribed_minutes)

    def more(chosen: Sessions, from_minute: int, left: int) -> Iterator[Sessions]:
        yield chosen
        if len(chosen) == day.most_sessions:
            return
        for start in range(from_minute, day.sleep_minutes, 5):
            length = 0
            while places[start] and places[start + length] is places[start]:
                length += 5
                rest = length - left
                if 0 < rest < 5 and left >= shortest:
                    yield (*chosen, (start, left))  # the last one takes what is left of the dose
                if rest <= 0 and length >= shortest:
                    yield from more((*chosen, (start, length)), start + length, left - length)

    return more((), day.wake_minutes, prescribed_minutes)


def merit(day: ClockDay, sessions: Sessions) -> tuple[object, ...]:
    """The greater the better: dose, fewer sessions, preferred minutes, earlier starts, longer sessions first."""
    preferred = sum(_within(day.preferred, minute) for start, minutes in sessions for minute in range(start, start + minutes))
    return sum(m for _, m in sessions), -len(sessions), preferred, tuple(-start for start, _ in sessions), tuple(m for _, m in sessions)
