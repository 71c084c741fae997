"""The versions of a household, the newest first: who told it when, and what that changed."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from schedules.household import Household
from service.facts import Child
from service.facts_of_households import EnteredHousehold
from service.i18n import Words
from service.views.case import Case
from service.views.household_words import at_home, holiday_said, journey_said, off_said, swap_said, turns, week_said


@dataclass(frozen=True)
class VersionShown:
    entered: EnteredHousehold
    told: tuple[str, ...]
    gone: tuple[str, ...]


@dataclass(frozen=True)
class HouseholdVersions:
    child: Child
    versions: tuple[VersionShown, ...]
    older: int | None  # the version behind which older ones begin


def view(c: Case, before: Household, entered: Sequence[EnteredHousehold], words: Words) -> HouseholdVersions:
    """Of `entered`, the oldest first; `before` held before the first of them."""
    names = {s.public_id: s.caregiver for s in c.subscriptions}
    said = [tuple(_said(h, names, words)) for h in (before, *(e.household for e in entered))]
    shown = [VersionShown(e, _without(after, earlier), _without(earlier, after)) for e, (earlier, after) in zip(entered, pairwise(said), strict=True)]
    return HouseholdVersions(c.child, tuple(reversed(shown)), entered[0].number if entered and entered[0].number > 1 else None)


def _without(lines: tuple[str, ...], others: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(line for line in lines if line not in others)


def _said(h: Household, names: dict[str, str], words: Words) -> Iterable[str]:
    """All that was told, a line for each entry."""
    for key, routine in (("", h.routine), *((home.caregiver, home.routine) for home in h.homes if home.routine)):
        where = at_home(names.get(key, ""))
        yield from (week_said(week, where, words) for week in routine.weeks)
        yield from (holiday_said(holiday, where, words) for holiday in routine.holidays)
    yield from (off_said(off, words) for off in h.days_off)
    yield from (journey_said(there, words) for there in h.journeys)
    yield from (words.text(turns(rotation, names)) for rotation in h.rotations)
    yield from (swap_said(swap, names, words) for swap in h.swaps)
