"""What a family has told of its days, for the clinic's page and the family's own, with the week that follows from it."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from schedules.day import AwakeDay, ClockDay, Weekday, named
from schedules.household import Household
from schedules.household_changes import routine_of
from schedules.local_time import zone_names
from schedules.routine import CLOCK_FROM_MONTHS, DAYS_A_WEEK, Dates, Day, Routine
from service.day_typed import values_of
from service.facts import Child
from service.facts_of_households import EnteredHousehold
from service.i18n import Words
from service.views.case import Case
from service.views.week_planned import WeekPlanned, week_planned
from shared.findings import Message, msg


@dataclass(frozen=True)
class DaysAlike:
    """Weekdays that are described in the same words; `first` leads to the form that changes them."""

    names: str
    text: str
    first: int


@dataclass(frozen=True)
class Kept:
    """An entry that is not over; `key` removes it."""

    text: str
    key: str


@dataclass(frozen=True)
class HomeShown:
    """The common routine (key "") or that of one home."""

    key: str
    name: str
    days: tuple[DaysAlike, ...]


@dataclass(frozen=True)
class HouseholdPage:
    child: Child
    today: date
    told: EnteredHousehold | None
    home: str
    homes: tuple[HomeShown, ...]
    turns: str  # who has the child on which day; "" where nobody has said
    kept: tuple[Kept, ...]
    own: tuple[Kept, ...]  # what a family may take back itself
    caregivers: tuple[tuple[str, str], ...]
    weekdays: tuple[tuple[int, str], ...]
    infant: bool  # by whose age a day is its stretches awake
    week: WeekPlanned
    week_on: date
    before_on: date
    after_on: date
    tried: bool  # the week shown is not saved
    zones: tuple[str, ...]


def first_values(c: Case, home: str | None, weekday: Weekday | None) -> dict[str, str]:
    """What stands in the form of a day at first: the day that holds today, or on a weekday; ticked are the weekdays like it."""
    on = c.today + timedelta(days=((weekday if weekday is not None else c.today.weekday()) - c.today.weekday()) % DAYS_A_WEEK)
    week = _week_on(routine_of(c.household, home), on) or _week_on(c.household.routine, on)
    day = week[on.weekday()] if week else None
    alike = [w for w in Weekday if week is None or _alike(week[w], day)]
    return {**values_of(day), "from_on": str(c.today), "home": home or "", **{f"weekday_{w.value}": "yes" for w in alike}}


def _week_on(routine: Routine, on: date) -> tuple[Day, ...] | None:
    return next((week.days for week in reversed(routine.weeks) if week.from_on <= on), None)


def _alike(day: Day, other: Day | None) -> bool:
    return values_of(day) == values_of(other)


def view(
    c: Case, household: Household, home: str | None, first_on: date | None, tried_minutes: int | None, words: Words, *, tried: bool = False
) -> HouseholdPage:
    week_on = max(first_on or c.today, c.child.born_on)
    names = {s.public_id: s.caregiver for s in c.subscriptions}
    homes = [None, *(h.caregiver for h in household.homes if h.routine and h.routine.weeks)]
    kept = tuple(_kept(household, c.today, names, words))
    open_links = [s for s in c.subscriptions if s.revoked_at is None]
    return HouseholdPage(
        child=c.child,
        today=c.today,
        told=c.told,
        home=home or "",
        homes=tuple(HomeShown(key or "", names.get(key or "", ""), _days_alike(routine_of(household, key), c.today, words)) for key in homes),
        turns=_turns_in_force(household, c.today, names, words),
        kept=kept,
        own=tuple(k for k in kept if is_own(k.key, home)),
        caregivers=tuple((s.public_id, s.caregiver) for s in open_links),
        weekdays=tuple((w.value, words.param(named(w))) for w in Weekday),
        infant=c.age_months < CLOCK_FROM_MONTHS,
        week=week_planned(c, household, week_on, tried_minutes, words),
        week_on=week_on,
        before_on=week_on - timedelta(days=DAYS_A_WEEK),
        after_on=week_on + timedelta(days=DAYS_A_WEEK),
        tried=tried,
        zones=tuple(sorted(zone_names())),
    )


def is_own(key: str, home: str | None) -> bool:
    """Whether an entry is a family's to take back: days off and journeys are, other days where they are those of its home."""
    kind, _, rest = key.partition(":")
    return kind in ("off", "journey") or (kind in ("holiday", "week") and rest.partition(":")[2] == (home or ""))


def _days_alike(routine: Routine, today: date, words: Words) -> tuple[DaysAlike, ...]:
    week = _week_on(routine, today) or (routine.weeks[0].days if routine.weeks else ())
    groups: list[list[Weekday]] = []
    for weekday in Weekday if week else ():
        like = next((g for g in groups if _alike(week[g[0]], week[weekday])), None)
        if like:
            like.append(weekday)
        else:
            groups.append([weekday])
    return tuple(DaysAlike(", ".join(words.param(named(w)) for w in g), _described(week[g[0]], words), g[0].value) for g in groups)


def _described(day: Day, words: Words) -> str:
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


def _kept(h: Household, today: date, names: dict[str, str], words: Words) -> Iterable[Kept]:
    """What may still be taken back: not what is over, and no week or rotation that has begun."""
    for key, routine in (("", h.routine), *((home.caregiver, home.routine) for home in h.homes if home.routine)):
        yield from _kept_of(routine, key, names.get(key, ""), today, words)
    for off in h.days_off:
        if off.last_on >= today:
            yield Kept(words.text(msg("%(range)s off: %(words)s", range=_range(off, words), words=off.words)), f"off:{off.first_on}:")
    for there in h.journeys:
        if there.last_on >= today:
            yield Kept(words.text(msg("%(range)s in %(zone)s", range=_range(there, words), zone=there.time_zone)), f"journey:{there.first_on}:")
    for rotation in h.rotations:
        if rotation.anchor_on > today:
            turns = msg("from %(on)s by turns: %(who)s", on=rotation.anchor_on, who=_turns(rotation.caregivers, names))
            yield Kept(words.text(turns), f"rotation:{rotation.anchor_on}:")
    for swap in h.swaps:
        if swap.on >= today:
            yield Kept(words.text(msg("%(on)s with %(who)s", on=swap.on, who=names[swap.caregiver])), f"swap:{swap.on}:")


def _kept_of(routine: Routine, key: str, at: str, today: date, words: Words) -> Iterable[Kept]:
    where = msg(" (%(home)s)", home=at) if at else msg("")
    for week in routine.weeks:
        if week.from_on > today:
            yield Kept(words.text(msg("other days from %(on)s%(where)s", on=week.from_on, where=where)), f"week:{week.from_on}:{key}")
    for holiday in routine.holidays:
        if holiday.last_on >= today:
            days = msg("%(range)s other days%(where)s: %(day)s", range=_range(holiday, words), where=where, day=_described(holiday.days[0], words))
            yield Kept(words.text(days), f"holiday:{holiday.first_on}:{key}")


def _turns_in_force(h: Household, today: date, names: dict[str, str], words: Words) -> str:
    found = next((rotation for rotation in reversed(h.rotations) if rotation.anchor_on <= today), None)
    return words.text(msg("since %(on)s by turns: %(who)s", on=found.anchor_on, who=_turns(found.caregivers, names))) if found else ""


def _turns(caregivers: tuple[str, ...], names: dict[str, str]) -> str:
    return ", ".join(names[c] for c in caregivers)


def _range(d: Dates, words: Words) -> str:
    return words.date(d.first_on) if d.first_on == d.last_on else words.text(msg("%(first)s to %(last)s", first=d.first_on, last=d.last_on))
