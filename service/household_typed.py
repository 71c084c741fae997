"""What a person typed of a household, as the change that it makes. A form is read first; the change runs once nothing in it is amiss."""

from dataclasses import replace
from datetime import date

from schedules.day import Weekday
from schedules.household import Household, Rotation, Swap
from schedules.household_changes import DayMade, ended, routine_of, with_days, with_holiday, with_rotation, with_routine, with_swap
from schedules.routine import Day, DayOff, Journey
from service.actions.households import Change
from service.day_typed import read_day, told_by_family, with_told
from service.errors import RefusedRequestError
from service.forms import Form
from shared.dates import DAYS_A_WEEK
from shared.findings import msg

# What the forms call the fields of the domain where they differ; of a day see `service/day_typed.py`.
OFF_FIELDS = {"last_on": "off_until_on", "from_on": "off_from_on"}
JOURNEY_FIELDS = {"last_on": "journey_until_on", "time_zone": "journey_zone", "journeys": "journey_from_on", "from_on": "journey_from_on"}
ROTATION_FIELDS = {"rotations": "anchor_on", "caregivers": "with_0", "homes": "with_0", "from_on": "anchor_on"}
SWAP_FIELDS = {"swaps": "swap_with", "from_on": "swap_on"}


def clinic_days(form: Form, caregiver: str | None) -> Change:
    """Everything about some weekdays."""
    weekdays = _weekdays(form)
    day = read_day(form, weekdays[0])

    def made(weekday: Weekday, _: Day | None) -> Day:
        assert day is not None
        return replace(day, day=weekday)

    return _days(form, caregiver, weekdays, made, clock_for_infant=form.ticked("clock_for_infant"))


def family_days(form: Form, caregiver: str | None) -> Change:
    """The hours that a family types; what its clinic entered beside them stays."""
    told = told_by_family(form)
    return _days(form, caregiver, _weekdays(form), lambda weekday, before: with_told(told, weekday, before), clock_for_infant=None)


def _days(form: Form, caregiver: str | None, weekdays: list[Weekday], made: DayMade, *, clock_for_infant: bool | None) -> Change:
    """From a date on, or for some dates where the last is given."""
    from_on, until_on = form.day("from_on"), form.optional_day("until_on")

    def change(household: Household) -> Household:
        routine = routine_of(household, caregiver)
        if until_on:
            changed = with_holiday(routine, from_on, until_on, weekdays, made)
        else:
            changed = with_days(routine, from_on, weekdays, made, clock_for_infant=clock_for_infant)
        return with_routine(household, caregiver, changed)

    return change


def _weekdays(form: Form) -> list[Weekday]:
    found = [weekday for weekday in Weekday if form.ticked(f"weekday_{weekday.value}")]
    if not found:
        form.refuse("weekdays", msg("Tick the days that are like this."))
    return found or list(Weekday)


def day_off(form: Form) -> Change:
    """One day, or several where the last is given; of two that begin on one day the later word holds, so that each can be taken back by its own."""
    first_on, words = form.day("off_from_on"), form.text("off_words")
    last_on = form.optional_day("off_until_on") or first_on

    def change(household: Household) -> Household:
        others = (off for off in household.days_off if off.first_on != first_on)
        return replace(household, days_off=(*others, DayOff(first_on, last_on, words)))

    return change


def journey(form: Form) -> Change:
    first_on, last_on, zone = form.day("journey_from_on"), form.day("journey_until_on"), form.text("journey_zone")
    return lambda household: replace(household, journeys=(*household.journeys, Journey(first_on, last_on, zone)))


def rotation(form: Form) -> Change:
    """Seven days where the second week is left empty, else fourteen."""
    anchor_on = form.day("anchor_on")
    named = [form.raw(f"with_{n}") for n in range(2 * DAYS_A_WEEK)]
    days = named if any(named[DAYS_A_WEEK:]) else named[:DAYS_A_WEEK]
    if not all(days):
        form.refuse("with_0", msg("Say for each day of the week, or of both weeks, who has the child."))
    return lambda household: with_rotation(household, Rotation(anchor_on, tuple(days)))


def swap(form: Form) -> Change:
    on, caregiver = form.day("swap_on"), form.text("swap_with")
    return lambda household: with_swap(household, Swap(on, caregiver))


def removal(form: Form, today: date) -> Change:
    """`kind:date:home` of an entry: gone where it is still to come, ended yesterday where it has begun."""
    kind, _, rest = form.raw("remove").partition(":")
    day, _, home = rest.partition(":")
    try:
        on = date.fromisoformat(day)
    except ValueError:
        raise RefusedRequestError from None

    def change(h: Household) -> Household:
        routine = routine_of(h, home or None)
        match kind:
            case "off":
                return replace(h, days_off=ended(h.days_off, on, today))
            case "journey":
                return replace(h, journeys=ended(h.journeys, on, today))
            case "holiday":
                return with_routine(h, home or None, replace(routine, holidays=ended(routine.holidays, on, today)))
            case "week":
                return with_routine(h, home or None, replace(routine, weeks=tuple(w for w in routine.weeks if w.from_on != on)))
            case "swap":
                return replace(h, swaps=tuple(s for s in h.swaps if s.on != on))
            case "rotation":
                return replace(h, rotations=tuple(r for r in h.rotations if r.anchor_on != on))
        raise RefusedRequestError

    return change
