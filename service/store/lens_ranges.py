"""A clinic's own lens ranges. Only ever added to: a change, or the end of a range, is a version that holds from a date on."""

from datetime import date, datetime

from sqlmodel import Session

from service.facts import Staff
from service.facts_of_lenses import EnteredRange
from service.store import versions
from service.store.records import LensRangeRow
from service.tokens import new_public_id
from shared.lens_words import LensMaterial, WearSchedule
from shared.optics.lens_range import LensRange, read_millimetres, read_spans, shown_millimetres, shown_spans
from shared.vocabulary import Status


def add(session: Session, staff: Staff, lens_range: LensRange, number: int, from_on: date, ended: bool, now: datetime) -> str:
    """Version `number` of the range of that name. Raises `ChangedMeanwhileError` where somebody else has entered it."""
    row = LensRangeRow(
        clinic_id=staff.clinic_id,
        public_id=new_public_id(),
        name=lens_range.name,
        number=number,
        from_on=from_on,
        powers=shown_spans(lens_range.spans),
        base_curves_mm=shown_millimetres(lens_range.base_curves_mm),
        diameters_mm=shown_millimetres(lens_range.diameters_mm),
        material=lens_range.material,
        wear_schedule=lens_range.wear_schedule,
        ended=ended,
        entered_by=staff.id,
        entered_at=now,
    )
    return versions.add(session, row)


def ranges(session: Session, clinic_id: int) -> list[EnteredRange]:
    """Every version, by name, date and number."""
    return [_entered(*found) for found in versions.of_clinic(session, LensRangeRow, clinic_id, "name", "from_on", "number")]


def ranges_behind(session: Session, clinic_id: int, after: str | None, limit: int) -> list[EnteredRange]:
    """One page of versions in the order they were entered; `after` is a public id."""
    return [_entered(*found) for found in versions.behind(session, LensRangeRow, clinic_id, after, limit)]


def one(session: Session, clinic_id: int, public_id: str) -> EnteredRange:
    """Raises `NotFoundError` for a range that is not this clinic's."""
    return _entered(*versions.one(session, LensRangeRow, clinic_id, public_id))


def _entered(r: LensRangeRow, who: str) -> EnteredRange:
    return EnteredRange(r.public_id, r.number, _range(r), r.from_on, r.ended, who, r.entered_at)


def _range(r: LensRangeRow) -> LensRange:
    return LensRange(
        name=r.name,
        spans=read_spans(r.powers),
        status=Status.COMMON_PRACTICE,
        base_curves_mm=read_millimetres(r.base_curves_mm, "base_curves_mm"),
        diameters_mm=read_millimetres(r.diameters_mm, "diameters_mm"),
        material=LensMaterial(r.material) if r.material else None,
        wear_schedule=WearSchedule(r.wear_schedule) if r.wear_schedule else None,
    )


def in_force(session: Session, clinic_id: int, day: date) -> list[EnteredRange]:
    """The ranges that hold on a day: of each name the version that began last, unless that one ended it."""
    begun = {r.lens_range.name: r for r in ranges(session, clinic_id) if r.from_on <= day}
    return [r for r in begun.values() if not r.ended]
