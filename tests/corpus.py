"""The corpus of calendars: each stands as a file in tests/golden, named for what it shows, and is read by every client."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, timedelta
from pathlib import Path

from schedules.adherence import WearEntry
from schedules.care_words import CareItem, CareKind
from schedules.day import ClockDay, NamedWindow, Weekday
from schedules.feed import Published, render
from schedules.feed_items import PlannedItem, closed_items, moved_items
from schedules.feed_style import CareGroup, Colour, FeedStyle, Shown
from schedules.household import Household
from schedules.routine import DayOff, Routine, Week
from shared.findings import msg
from shared.vocabulary import Laterality
from tests.feeds import NOW, RISING, TODAY, day, occlusion, plan, publish

GOLDEN = Path(__file__).parent / "golden"
TWO_HOURS = occlusion(1, -3, 20, (-3, 120))


@dataclass(frozen=True)
class Given:
    """What one calendar was made from."""

    items: Sequence[PlannedItem]
    promises: Sequence[Published]
    name: str
    colour: Colour = Colour.TEAL

    def body(self) -> bytes:
        return render(self.items, self.promises, name=self.name, colour=self.colour)


def split_days(time_zone: str, short: Weekday | None = None, off: int | None = None) -> Household:
    """Free from 9 to 10 and from 16 to 17:30; on one weekday from 9 to 10 alone; a day off."""
    out = (NamedWindow(10 * 60, 16 * 60, "out"),)
    all_of_it = (NamedWindow(10 * 60, 17 * 60 + 30, "out"),)
    days = tuple(ClockDay(w, 9 * 60, 17 * 60 + 30, 2, 30, activities=all_of_it if w is short else out) for w in Weekday)
    days_off = () if off is None else (DayOff(day(off), day(off), "ill"),)
    return Household(date(2022, 1, 1), time_zone, Routine((Week(day(-40), days),)), days_off=days_off)


def care(kind: CareKind, on: int, ordinal: int = 1, met: int | None = None) -> CareItem:
    text = msg("The lens of the left eye.")
    return CareItem(kind, day(on), ordinal, Laterality.LEFT, text, text, day(on), met_on=None if met is None else day(met))


def worn(on: int, minutes: int, correction_worn: bool = True) -> WearEntry:
    return WearEntry(f"w{on}-{minutes}", day(on), minutes, correction_worn, None, False, NOW, None)


def rising_dose_over_clock_change_then_plan_ends() -> Given:
    items = plan([RISING], alarm_minutes=9 * 60)
    return Given(items, publish(items), "Plan")


def resigned_days_are_the_same_events_newer() -> Given:
    items = plan([RISING, occlusion(2, 6, 9, (6, 150))])
    return Given(items, publish(items, publish(plan([RISING])), NOW + timedelta(hours=1)), "Plan")


def revoked_calendar_says_closed_once() -> Given:
    items = closed_items(TODAY, "Calendar closed")
    return Given(items, publish(items, publish(plan([RISING]))), "Plan")


def sessions_keep_the_clock_on_the_wall_over_the_spring_change() -> Given:
    style = FeedStyle("time", shown=Shown.SESSIONS, session_alarm_minutes=10)
    items = plan([TWO_HOURS], style=style, household=split_days("Europe/Berlin"))
    return Given(items, publish(items), style.name)


def sessions_over_a_change_of_half_an_hour() -> Given:
    style = FeedStyle("time", shown=Shown.SESSIONS, session_alarm_minutes=0)
    items = plan([TWO_HOURS], style=style, household=split_days("Australia/Lord_Howe"))
    return Given(items, publish(items), style.name)


def the_day_and_its_sessions_with_alarms_a_short_day_and_a_day_off() -> Given:
    style = FeedStyle("time", shown=Shown.BOTH, alarm_minutes=7 * 60 + 30, session_alarm_minutes=15, colour=Colour.NAVY)
    items = plan([TWO_HOURS], style=style, household=split_days("America/New_York", short=Weekday.SATURDAY, off=5))
    return Given(items, publish(items), style.name, style.colour)


def visits_and_care_say_nothing_but_the_familys_word() -> Given:
    style = FeedStyle("time", word="Blue; a, b\\c", care=frozenset({CareGroup.VISITS, CareGroup.LENS}), alarm_minutes=8 * 60)
    shown = [care(CareKind.LENS_OUT, 0), care(CareKind.LENS_CLEAN, 0), care(CareKind.VISIT, 9, 17), care(CareKind.VISIT, 9, 18), care(CareKind.DROPS, 1)]
    items = plan([RISING], style=style, care=shown)
    return Given(items, publish(items), style.name)


def done_days_as_the_family_chose() -> Given:
    style = FeedStyle("time", shown=Shown.BOTH, done_shown=True)
    entries = [worn(-3, 120), worn(-2, 90), worn(-1, 60), worn(-1, 60, False)]
    items = plan([TWO_HOURS], style=style, household=split_days("Europe/Lisbon"), entries=entries)
    return Given(items, publish(items), style.name)


def given_up_address_asks_to_subscribe_again() -> Given:
    items = moved_items(TODAY, "Please subscribe again")
    return Given(items, publish(items), "time")


CORPUS: tuple[Callable[[], Given], ...] = (
    rising_dose_over_clock_change_then_plan_ends,
    resigned_days_are_the_same_events_newer,
    revoked_calendar_says_closed_once,
    sessions_keep_the_clock_on_the_wall_over_the_spring_change,
    sessions_over_a_change_of_half_an_hour,
    the_day_and_its_sessions_with_alarms_a_short_day_and_a_day_off,
    visits_and_care_say_nothing_but_the_familys_word,
    done_days_as_the_family_chose,
    given_up_address_asks_to_subscribe_again,
)


def golden(case: Callable[[], Given]) -> bytes:
    return (GOLDEN / f"{case.__name__}.ics").read_bytes()


def reversed_events(body: bytes) -> bytes:
    """The same calendar with its last event first."""
    head, *events = body.removesuffix(b"END:VCALENDAR\r\n").split(b"BEGIN:VEVENT\r\n")
    return b"BEGIN:VEVENT\r\n".join([head, *reversed(events)]) + b"END:VCALENDAR\r\n"


@dataclass(frozen=True, order=True)
class Seen:
    """One event as any reader gives it: instants in UTC as text, or dates of an event that lasts all day; alarms in minutes after its beginning."""

    start: str
    end: str
    title: str
    alarms: tuple[int, ...] = ()


def expected(case: Given) -> list[Seen]:
    return sorted(_seen(item) for item in case.items)


def _seen(item: PlannedItem) -> Seen:
    alarms = () if item.alarm_minutes is None else (item.alarm_minutes,)
    if item.start_at is None:
        return Seen(str(item.on), str(item.on + timedelta(days=1)), item.summary, alarms)
    end_at = item.start_at + timedelta(minutes=item.minutes)
    return Seen(*(f"{at.astimezone(UTC):%Y-%m-%dT%H:%M:%SZ}" for at in (item.start_at, end_at)), item.summary, alarms)
