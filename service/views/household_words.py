"""What a family told of its days, in words."""

from collections.abc import Iterable
from dataclasses import dataclass

from schedules.day import AwakeDay, ClockDay, named
from schedules.household import Rotation, Swap
from schedules.routine import Dates, Day, DayOff, Holiday, Journey, Week
from service.day_typed import values_of
from service.i18n import Words
from shared.findings import Message, msg


@dataclass(frozen=True)
class DaysAlike:
    """Weekdays that are described in the same words; `first` leads to the form that changes them."""

    names: str
    text: str
    first: int


def alike(day: Day, other: Day | None) -> bool:
    return values_of(day) == values_of(other)


def days_alike(days: Iterable[Day], words: Words) -> tuple[DaysAlike, ...]:
    """Of the days of a week, in its order."""
    groups: list[list[Day]] = []
    for day in days:
        like = next((g for g in groups if alike(g[0], day)), None)
        if like:
            like.append(day)
        else:
            groups.append([day])
    return tuple(DaysAlike(", ".join(words.param(named(day.day)) for day in g), described(g[0], words), int(g[0].day)) for g in groups)  # type: ignore[arg-type]


def described(day: Day, words: Words) -> str:
    if isinstance(day, AwakeDay):
        return words.text(msg("awake for %(stretches)s", stretches=", ".join(map(words.hours, day.awake_stretches))))
    v = values_of(day)
    parts = [words.text(msg("awake %(wake)s to %(sleep)s", wake=v["wake"], sleep=v["sleep"]))]
    windows = (
        ("naps", msg("naps")),
        ("nursery_patching", msg("nursery or school that patches")),
        ("nursery_other", msg("nursery or school without a patch")),
        ("activities", msg("activities")),
        ("unwelcome", msg("not welcome")),
        ("preferred", msg("preferred")),
        ("near_work", msg("near work")),
        ("screen_free", msg("screen-free")),
    )
    parts += [words.text(msg("%(what)s %(times)s", what=what, times=v[name])) for name, what in windows if v[name]]
    return "; ".join((*parts, words.text(_limits(day, words))))


def _limits(day: ClockDay, words: Words) -> Message:
    return msg(
        "at most %(most)s sessions of %(shortest)s or more, none in the last %(before)s before bed",
        most=day.most_sessions,
        shortest=words.hours(day.shortest_session_minutes),
        before=words.hours(day.gap_before_bed_minutes),
    )


def at_home(name: str) -> Message:
    return msg(" (%(home)s)", home=name) if name else msg("")


def week_said(week: Week, where: Message, words: Words) -> str:
    days = ". ".join(f"{d.names}: {d.text}" for d in days_alike(week.days, words))
    return words.text(msg("from %(on)s%(where)s: %(days)s", on=week.from_on, where=where, days=days))


def holiday_said(holiday: Holiday, where: Message, words: Words) -> str:
    if holiday.days[0].day == holiday.first_on:
        days = described(holiday.days[0], words)
    else:
        days = ". ".join(f"{d.names}: {d.text}" for d in days_alike(holiday.days, words))
    return words.text(msg("%(range)s other days%(where)s: %(day)s", range=_range(holiday, words), where=where, day=days))


def off_said(off: DayOff, words: Words) -> str:
    return words.text(msg("%(range)s off: %(words)s", range=_range(off, words), words=off.words))


def journey_said(there: Journey, words: Words) -> str:
    return words.text(msg("%(range)s in %(zone)s", range=_range(there, words), zone=there.time_zone))


def turns(rotation: Rotation, names: dict[str, str]) -> Message:
    return msg("from %(on)s by turns: %(who)s", on=rotation.anchor_on, who=", ".join(names[c] for c in rotation.caregivers))


def swap_said(swap: Swap, names: dict[str, str], words: Words) -> str:
    return words.text(msg("%(on)s with %(who)s", on=swap.on, who=names[swap.caregiver]))


def _range(d: Dates, words: Words) -> str:
    return words.date(d.first_on) if d.first_on == d.last_on else words.text(msg("%(first)s to %(last)s", first=d.first_on, last=d.last_on))
