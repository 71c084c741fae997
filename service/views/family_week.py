"""A week of patching as a row of flowers to colour in: a petal for each half hour planned, nothing counted, nothing lost. A table stands behind it."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from schedules.adherence import WearEntry, day_wear
from schedules.regimen import in_force
from service.actions.wear import caregiver
from service.facts import Subscription
from service.i18n import Words
from service.views.case import Case
from service.views.family import day_state, spoken
from service.views.planned import is_off
from shared.dates import DAYS_A_WEEK
from shared.rounding import round_half_up

HALF_HOUR = 30
MOST_PETALS = 16  # eight hours; of more each stands for a longer time
STEM = "M50 104v46m0-8c-14-2-20-10-22-18 12 0 20 6 22 18c14-2 20-10 22-18-12 0-20 6-22 18"  # with its leaves


@dataclass(frozen=True)
class Petal:
    """Turned about the flower's middle by `turn` degrees; `worn` ones are shaded."""

    turn: float
    worn: bool


@dataclass(frozen=True)
class Flower:
    """One day. Without petals it is a bud: no patch was planned."""

    on: date
    label: str
    petals: tuple[Petal, ...]
    text: str


@dataclass(frozen=True)
class WeekRow:
    on: date
    planned: str
    noted: str


@dataclass(frozen=True)
class FamilyWeek:
    first_on: date
    last_on: date
    flowers: tuple[Flower, ...]
    rows: tuple[WeekRow, ...]
    title: str
    stem: str
    before: date | None
    after: date | None


def view(c: Case, subscription: Subscription, of: date | None, words: Words) -> FamilyWeek:
    """From Monday to Sunday. A week before the first plan or after this one is not shown."""
    this = _monday(c.today)
    first = min((_monday(r.start_on) for r in c.revisions), default=this)
    monday = min(max(_monday(of), first), this) if of else this
    days = [monday + timedelta(days=n) for n in range(DAYS_A_WEEK)]
    entries = caregiver(subscription).mine(c.entries)
    rows = tuple(WeekRow(on, _planned(c, on, words), day_state(c, entries, on, words) if on <= c.today else words.gettext("to come")) for on in days)
    return FamilyWeek(
        first_on=monday,
        last_on=days[-1],
        flowers=tuple(_flower(c, entries, row, words) for row in rows),
        rows=rows,
        title=words.gettext("A week of flowers to colour in"),
        stem=STEM,
        before=monday - timedelta(days=7) if monday > first else None,
        after=monday + timedelta(days=7) if monday < this else None,
    )


def _monday(day: date) -> date:
    return day - timedelta(days=day.weekday())


def _minutes(c: Case, on: date) -> int:
    regimen = in_force(c.revisions, on)
    return 0 if regimen is None or is_off(c, on) else regimen.minutes_on(on)


def _planned(c: Case, on: date, words: Words) -> str:
    minutes = _minutes(c, on)
    return spoken(minutes, words) if minutes else words.gettext("no patch")


def _flower(c: Case, entries: Sequence[WearEntry], row: WeekRow, words: Words) -> Flower:
    planned, wear = _minutes(c, row.on), day_wear(entries, row.on)
    worn = wear.received_minutes + wear.without_correction_minutes
    petals = min(MOST_PETALS, math.ceil(planned / HALF_HOUR))
    shaded = min(petals, int(round_half_up(worn / planned * petals))) if planned else 0
    turned = tuple(Petal(round_half_up(360 / petals * k, 0.1), k < shaded) for k in range(petals))
    label = words.weekday(row.on)
    return Flower(row.on, label, turned, f"{label}: {row.planned}, {row.noted}")
