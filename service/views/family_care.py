"""The next seven days' care for a family, in its words: what comes every day once, the rest by date."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from schedules.adherence import Span
from schedules.care_words import CareItem, CareKind
from service.facts_of_teaching import Level, Skill
from service.i18n import Words
from service.views.care import care_items_of
from service.views.case import Case
from service.views.cautions import for_caregiver

WEEK = 7
_IN_TURN = list(CareKind)  # a lens comes out before it is cleaned


@dataclass(frozen=True)
class DayOfCare:
    on: date
    texts: tuple[str, ...]


@dataclass(frozen=True)
class WeekOfCare:
    every_day: tuple[str, ...]
    days: tuple[DayOfCare, ...]


def week_of_care(c: Case, may: Mapping[Skill, Level], words: Words) -> WeekOfCare:
    """`may`: how far this caregiver has come with a lens."""
    days = [c.today + timedelta(days=n) for n in range(WEEK)]
    found: dict[str, list[date]] = {}
    items = [*_patches_wanted(c), *care_items_of(c, Span(c.today, c.today + timedelta(days=WEEK)))]
    for item in sorted(items, key=lambda i: (i.on, _IN_TURN.index(i.kind), i.ordinal)):
        if item.met_on is None:
            found.setdefault(for_caregiver(item, may, words), []).append(max(item.on, c.today))
    daily = [text for text, on in found.items() if on == days]
    dated = [DayOfCare(day, tuple(text for text, on in found.items() if day in on and text not in daily)) for day in days]
    return WeekOfCare(tuple(daily), tuple(day for day in dated if day.texts))


def day_of_care(c: Case, on: date, may: Mapping[Skill, Level], words: Words) -> WeekOfCare:
    """One day alone: nothing is said of what comes every day."""
    items = sorted(care_items_of(c, Span(on, on + timedelta(days=1))), key=lambda i: (_IN_TURN.index(i.kind), i.ordinal))
    texts = dict.fromkeys(for_caregiver(i, may, words) for i in items if i.met_on is None or i.met_on >= on)
    return WeekOfCare((), (DayOfCare(on, tuple(texts)),) if texts else ())


def _patches_wanted(c: Case) -> list[CareItem]:
    """Time for new patches stays so until they are counted anew."""
    counted_on = c.care_record.stock.counted_on if c.care_record.stock else c.today
    return [i for i in care_items_of(c, Span(counted_on, c.today)) if i.kind is CareKind.PATCH_STOCK]
