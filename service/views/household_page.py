"""What a family has told of its days, for the clinic's page and the family's own, with the week that follows from it."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from schedules.day import Weekday, named
from schedules.household import Household
from schedules.household_changes import routine_of
from schedules.local_time import zone_names
from schedules.routine import CLOCK_FROM_MONTHS, Day, Routine
from service.day_typed import values_of
from service.facts import Child
from service.facts_of_households import EnteredHousehold
from service.i18n import Words
from service.views.case import Case
from service.views.household_words import DaysAlike, alike, at_home, days_alike, holiday_said, journey_said, off_said, swap_said, turns, week_said
from service.views.week_planned import WeekPlanned, week_planned
from shared.dates import DAYS_A_WEEK


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
    like_it = [w for w in Weekday if week is None or alike(week[w], day)]
    return {**values_of(day), "from_on": str(c.today), "home": home or "", **{f"weekday_{w.value}": "yes" for w in like_it}}


def _week_on(routine: Routine, on: date) -> tuple[Day, ...] | None:
    return next((week.days for week in reversed(routine.weeks) if week.from_on <= on), None)


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
        homes=tuple(HomeShown(key or "", names.get(key or "", ""), _days_now(routine_of(household, key), c.today, words)) for key in homes),
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


def _days_now(routine: Routine, today: date, words: Words) -> tuple[DaysAlike, ...]:
    """The week that holds, or the first to come."""
    return days_alike(_week_on(routine, today) or (routine.weeks[0].days if routine.weeks else ()), words)


def _kept(h: Household, today: date, names: dict[str, str], words: Words) -> Iterable[Kept]:
    """What may still be taken back: not what is over, and no week or rotation that has begun."""
    for key, routine in (("", h.routine), *((home.caregiver, home.routine) for home in h.homes if home.routine)):
        where = at_home(names.get(key, ""))
        yield from (Kept(week_said(week, where, words), f"week:{week.from_on}:{key}") for week in routine.weeks if week.from_on > today)
        yield from (Kept(holiday_said(day, where, words), f"holiday:{day.first_on}:{key}") for day in routine.holidays if day.last_on >= today)
    yield from (Kept(off_said(off, words), f"off:{off.first_on}:") for off in h.days_off if off.last_on >= today)
    yield from (Kept(journey_said(there, words), f"journey:{there.first_on}:") for there in h.journeys if there.last_on >= today)
    yield from (Kept(words.text(turns(r, names)), f"rotation:{r.anchor_on}:") for r in h.rotations if r.anchor_on > today)
    yield from (Kept(swap_said(swap, names, words), f"swap:{swap.on}:") for swap in h.swaps if swap.on >= today)


def _turns_in_force(h: Household, today: date, names: dict[str, str], words: Words) -> str:
    found = next((rotation for rotation in reversed(h.rotations) if rotation.anchor_on <= today), None)
    return words.text(turns(found, names)) if found else ""
