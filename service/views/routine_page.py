"""What is told about a child's days, and the week that follows from it; the same for the clinic and, in its own words, for the family."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from schedules.day import Weekday
from schedules.household import Household
from schedules.routine import DAYS_A_WEEK
from service.day_text import DayField
from service.facts_of_routines import EnteredHousehold
from service.forms import Form
from service.i18n import Words
from service.routine_forms import Asked, kinds_shown, routine_of
from service.views import routine_week
from service.views.case import Case
from service.views.shown import FindingShown, finding_shown
from shared.findings import msg


@dataclass(frozen=True)
class FieldShown:
    name: str
    label: str
    hint: str


@dataclass(frozen=True)
class Listed:
    """A day off, a holiday, a journey or a swap from today on; `item` is what takes it back."""

    item: str
    first_on: date
    last_on: date
    words: str


@dataclass(frozen=True)
class RoutinePage:
    address: str
    back: str
    name: str
    today: date
    told: EnteredHousehold | None
    seen: int
    home: str
    home_name: str
    homes: tuple[tuple[str, str], ...]  # caregivers with a home, and what the clinic calls them
    own_days: bool  # the home has days of its own already
    caregivers: tuple[tuple[str, str], ...]  # all that may have the child
    kinds: tuple[int, ...]
    fields: tuple[FieldShown, ...]
    weekdays: tuple[tuple[int, str], ...]
    since: tuple[date, ...]  # from when weeks hold
    days_off: tuple[Listed, ...]
    holidays: tuple[Listed, ...]
    journeys: tuple[Listed, ...]
    swaps: tuple[Listed, ...]
    rotation_days: tuple[tuple[str, str], ...]  # field and day of each select
    week: routine_week.RoutineWeek
    findings: tuple[FindingShown, ...]
    families: tuple[str, ...]  # the findings in the family's words
    tried: bool


def view(
    c: Case, asked: Asked, form: Form, shown: Household, first_on: date, tried_minutes: int | None, address: str, *, tried: bool, words: Words
) -> RoutinePage:
    """`shown` is the household whose week is drawn: what is told, or what is tried."""
    names = {s.public_id: s.caregiver for s in c.subscriptions}
    told = c.household
    routine = routine_of(told, asked.home)
    week = routine_week.view(c, shown, first_on, tried_minutes, words)
    weekdays = tuple((int(weekday), words.weekday(_monday(weekday))) for weekday in Weekday)
    return RoutinePage(
        address=address,
        back=f"/children/{c.child.public_id}",
        name=c.child.short_name,
        today=c.today,
        told=c.told,
        seen=c.told.number if c.told else 0,
        home=asked.home,
        home_name=names.get(asked.home, ""),
        homes=tuple((home.caregiver, names.get(home.caregiver, "")) for home in told.homes),
        own_days=routine is not None,
        caregivers=tuple((s.public_id, s.caregiver) for s in c.subscriptions if s.revoked_at is None or s.public_id in {h.caregiver for h in told.homes}),
        kinds=kinds_shown(form),
        fields=tuple(_field(f, asked.fields, words) for f in asked.fields),
        weekdays=weekdays,
        since=tuple(w.from_on for w in routine.weeks) if routine else (),
        days_off=tuple(Listed(f"days_off:{d.first_on}", d.first_on, d.last_on, d.words) for d in told.days_off if d.last_on >= c.today),
        holidays=tuple(Listed(f"holidays:{h.first_on}", h.first_on, h.last_on, "") for h in (routine.holidays if routine else ()) if h.last_on >= c.today),
        journeys=tuple(Listed(f"journeys:{j.first_on}", j.first_on, j.last_on, j.time_zone) for j in told.journeys if j.last_on >= c.today),
        swaps=tuple(Listed(f"swaps:{s.on}", s.on, s.on, names.get(s.caregiver, "")) for s in told.swaps if s.on >= c.today),
        rotation_days=tuple(
            (f"rotation_{n}", words.text(msg("%(day)s, week %(week)s", day=weekdays[n % DAYS_A_WEEK][1], week=n // DAYS_A_WEEK + 1)))
            for n in range(2 * DAYS_A_WEEK)
        ),
        week=week,
        findings=tuple(finding_shown(f, words) for f in week.findings),
        families=tuple(dict.fromkeys(words.text(f.family) for f in week.findings if f.family)),
        tried=tried,
    )


def _monday(weekday: Weekday) -> date:
    """Any date of that weekday."""
    return date(2026, 3, 2 + weekday)


def _field(f: DayField, asked: Sequence[DayField], words: Words) -> FieldShown:
    of_family = all(other.family for other in asked)
    return FieldShown(f.name, words.text(f.family if of_family and f.family else f.label), words.text(f.hint) if f.hint else "")
