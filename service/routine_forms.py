"""What a form changes in a household: a week, a holiday, a day off, a journey, who has the child. Read into a new household; nothing is stored."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import TypeVar

from schedules.day import Weekday
from schedules.household import Home, Household, Rotation, Swap
from schedules.routine import DAYS_A_WEEK, Dates, Day, DayOff, Holiday, Journey, Routine, Week
from service.day_text import LONGEST, USUAL, DayField, read_day, written
from service.forms import Form
from shared.findings import msg

D = TypeVar("D", bound=Dates)
T = TypeVar("T")
MOST_KINDS = DAYS_A_WEEK  # of day in one week
WORKING = (*Weekday,)[:5]
ERRORS = {"nursery": "nursery_patches"}  # what the core calls a line, where it has another name here


@dataclass(frozen=True)
class Asked:
    """Whose form it is: the home it is about ("": every home without days of its own), the lines it asks, and the child's today."""

    home: str
    fields: Sequence[DayField]
    today: date


def routine_of(household: Household, home: str) -> Routine | None:
    """The days of one home, or the common ones; None where a home has none of its own."""
    return next((h.routine for h in household.homes if h.caregiver == home), None) if home else household.routine


def week_values(week: Week | None, fields: Sequence[DayField]) -> dict[str, str]:
    """A week as the form holds it: days that read alike stand together."""
    kinds: dict[tuple[tuple[str, str], ...], list[Weekday]] = {}
    for weekday in Weekday:
        lines = written(week.days[weekday] if week else None)
        asked = tuple((f.name, lines.get(f.name, "")) for f in fields)
        kinds.setdefault(asked if week else (*asked, ("", str(weekday in WORKING))), []).append(weekday)
    values = {"clock_for_infant": "yes" if week and week.clock_for_infant else ""}
    for n, (lines_of_kind, weekdays) in enumerate(kinds.items(), 1):
        values |= {f"d{n}_{name}": text for name, text in lines_of_kind if name}
        values |= {f"d{n}_on_{weekday:d}": "yes" for weekday in weekdays}
    return values


def kinds_shown(form: Form) -> tuple[int, ...]:
    """Numbers of the kinds of day that a form holds, and one more to fill in."""
    used = [n for n in range(1, MOST_KINDS + 1) if any(form.ticked(f"d{n}_on_{weekday:d}") for weekday in Weekday)]
    return tuple(range(1, min(MOST_KINDS, max(used, default=0) + 1) + 1))


def changed(form: Form, household: Household, asked: Asked) -> Household | None:
    """The household with what the form says; None where something in it cannot be, which then stands beside its field."""
    part = form.raw("part")
    names = {"on": f"{part}_first_on", "last_on": f"{part}_last_on", "time_zone": "journey_zone", "days": "d1_on_0"}
    with form.catching(names, default=f"{part}_first_on"):
        found = _changed(part, form, household, asked)
        return None if form.errors else found
    return None


def _changed(part: str, form: Form, household: Household, asked: Asked) -> Household:
    match part:
        case "holiday":
            return _holiday(form, household, asked)
        case "day-off":
            return _day_off(form, household)
        case "journey":
            return _journey(form, household)
        case "rotation":
            return _rotation(form, household)
        case "swap":
            return _swap(form, household)
        case "remove":
            return _remove(form, household, asked)
    return _week(form, household, asked)


def _day(form: Form, prefix: str, day: Weekday | date, base: Day | None, fields: Sequence[DayField]) -> Day | None:
    """What is not asked stays as it was."""
    typed = {f.name: form.optional_text(f"{prefix}{f.name}", longest=LONGEST) for f in fields}
    names = {name: f"{prefix}{ERRORS.get(name, name)}" for name in (*(f.name for f in fields), *ERRORS)}
    with form.catching(names, default=f"{prefix}wake_minutes"):
        return read_day(day, written(base) | {name: text for name, text in typed.items() if text or name not in USUAL})
    return None


def _week(form: Form, household: Household, asked: Asked) -> Household:
    from_on = form.day("week_first_on")
    routine = routine_of(household, asked.home) or Routine(())
    base = next((week for week in reversed(routine.weeks) if week.from_on <= from_on), None)
    days: dict[Weekday, Day | None] = {}
    for n in kinds_shown(form):
        for weekday in Weekday:
            if not form.ticked(f"d{n}_on_{weekday:d}"):
                continue
            if weekday in days:
                form.refuse(f"d{n}_on_0", msg("A day of the week is ticked twice: each belongs to one kind of day."))
            days[weekday] = _day(form, f"d{n}_", weekday, base.days[weekday] if base else None, asked.fields)
    if len(days) < DAYS_A_WEEK:
        form.refuse("d1_on_0", msg("A day of the week is not ticked anywhere: tick it at the kind of day that it is."))
    if form.errors:
        return household
    of_clinic = any(f.family is None for f in asked.fields)
    infant = form.ticked("clock_for_infant") if of_clinic else base is not None and base.clock_for_infant
    week = Week(from_on, tuple(day for weekday in Weekday if (day := days[weekday])), infant)
    earlier = tuple(w for w in routine.weeks if w.from_on < from_on)  # what was said last holds from its day on
    return _with_routine(household, asked.home, replace(routine, weeks=(*earlier, week)))


def _holiday(form: Form, household: Household, asked: Asked) -> Household:
    first_on, last_on = _range(form, "holiday")
    day = _day(form, "holiday_", first_on, None, asked.fields)
    routine = routine_of(household, asked.home) or Routine(())
    if day is None or form.errors:
        return household
    holiday = Holiday(first_on, last_on, (day,))
    return _with_routine(household, asked.home, replace(routine, holidays=_with(routine.holidays, holiday)))


def _day_off(form: Form, household: Household) -> Household:
    first_on, last_on = _range(form, "day-off")
    return replace(household, days_off=_with(household.days_off, DayOff(first_on, last_on, form.optional_text("day-off_words"))))


def _journey(form: Form, household: Household) -> Household:
    first_on, last_on = _range(form, "journey")
    return replace(household, journeys=_with(household.journeys, Journey(first_on, last_on, form.text("journey_zone"))))


def _rotation(form: Form, household: Household) -> Household:
    from_on = form.day("rotation_first_on")
    typed = [form.raw(f"rotation_{n}") for n in range(2 * DAYS_A_WEEK)]
    named = typed if any(typed[DAYS_A_WEEK:]) else typed[:DAYS_A_WEEK]
    if not all(named):
        form.refuse("rotation_0", msg("Say for each day who has the child: one week, or both."))
    if form.errors:
        return household
    turned = named[from_on.weekday() :] + named[: from_on.weekday()]  # typed from Monday on
    known = {home.caregiver for home in household.homes}
    homes = (*household.homes, *(Home(caregiver) for caregiver in dict.fromkeys(named) if caregiver not in known))
    earlier = tuple(r for r in household.rotations if r.anchor_on < from_on)
    return replace(household, homes=homes, rotations=(*earlier, Rotation(from_on, tuple(turned))))


def rotation_values(household: Household) -> dict[str, str]:
    """The rotation that holds last, from Monday on."""
    if not household.rotations:
        return {}
    newest = household.rotations[-1]
    since = newest.anchor_on.weekday()
    return {f"rotation_{(since + n) % len(newest.caregivers)}": caregiver for n, caregiver in enumerate(newest.caregivers)}


def _swap(form: Form, household: Household) -> Household:
    swap = Swap(form.day("swap_first_on"), form.text("swap_caregiver"))
    return household if form.errors else replace(household, swaps=_with(household.swaps, swap))


def _remove(form: Form, household: Household, asked: Asked) -> Household:
    """What has not begun is taken out; what has is over with yesterday."""
    kind, _, first_on = form.raw("item").partition(":")
    routine = routine_of(household, asked.home)
    if kind == "holidays" and routine:
        return _with_routine(household, asked.home, replace(routine, holidays=_without(routine.holidays, first_on, asked.today)))
    if kind == "swaps":
        return replace(household, swaps=tuple(swap for swap in household.swaps if str(swap.on) != first_on))
    if kind == "journeys":
        return replace(household, journeys=_without(household.journeys, first_on, asked.today))
    return replace(household, days_off=_without(household.days_off, first_on, asked.today))


def _without(ranges: Sequence[D], first_on: str, today: date) -> tuple[D, ...]:
    kept: list[D] = []
    for those in ranges:
        if str(those.first_on) != first_on or those.last_on < today:
            kept.append(those)
        elif those.first_on < today:
            kept.append(replace(those, last_on=today - timedelta(days=1)))
    return tuple(kept)


def _range(form: Form, part: str) -> tuple[date, date]:
    first_on = form.day(f"{part}_first_on")
    return first_on, form.optional_day(f"{part}_last_on") or first_on


def _with(those: tuple[T, ...], one: T) -> tuple[T, ...]:
    """Said twice is said once."""
    return those if one in those else (*those, one)


def _with_routine(household: Household, home: str, routine: Routine) -> Household:
    if not home:
        return replace(household, routine=routine)
    return replace(household, homes=tuple(replace(h, routine=routine) if h.caregiver == home else h for h in household.homes))
