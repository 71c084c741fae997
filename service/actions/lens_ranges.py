"""Entering, changing and ending a clinic's own lens ranges. What holds on past days is never changed."""

from dataclasses import replace
from datetime import date, datetime

from sqlmodel import Session

from service.access import require_range_keeper
from service.actions import versions
from service.facts import Staff
from service.facts_of_lenses import EnteredRange
from service.store import lens_ranges
from shared.errors import ClinicalInputError
from shared.findings import msg
from shared.optics.lens_range import LensRange


def enter(session: Session, staff: Staff, lens_range: LensRange, from_on: date, today: date, now: datetime) -> str:
    """A range of a new name. Raises `ClinicalInputError` naming `name` or `from_on`."""
    require_range_keeper(staff)
    if any(r.lens_range.name.casefold() == lens_range.name.casefold() for r in lens_ranges.ranges(session, staff.clinic_id)):
        raise ClinicalInputError("name", msg("“%(name)s” is a range already: change that one, or give this one a name of its own.", name=lens_range.name))
    return _add(session, staff, lens_range, 1, from_on, False, today, now)


def change(session: Session, staff: Staff, seen: EnteredRange, lens_range: LensRange, from_on: date, today: date, now: datetime) -> str:
    """The version after the one that was `seen`. Raises `ClinicalInputError` naming `from_on`, `ChangedMeanwhileError` where there is one already."""
    require_range_keeper(staff)
    return _add(session, staff, replace(lens_range, name=seen.lens_range.name), seen.number + 1, from_on, False, today, now)


def end(session: Session, staff: Staff, seen: EnteredRange, from_on: date, today: date, now: datetime) -> str:
    """No such range from a day on; as `change`."""
    require_range_keeper(staff)
    return _add(session, staff, seen.lens_range, seen.number + 1, from_on, True, today, now)


def _add(session: Session, staff: Staff, lens_range: LensRange, number: int, from_on: date, ended: bool, today: date, now: datetime) -> str:
    versions.check_from(from_on, today)
    public_id = lens_ranges.add(session, staff, lens_range, number, from_on, ended, now)
    return versions.audit(session, staff, "lens-range", public_id, lens_range.name, number, now, ended=ended)
