"""What to measure under the next anaesthetic: each eye's last values with their dates, and what is missing or stale."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from service.facts import Child
from service.facts_of_visits import Visit
from service.i18n import Words
from service.views.asked_page import joined
from service.views.case import Case
from service.views.in_force import correction_in_force
from service.views.shown import age_shown
from shared.course.anaesthetic import Measurement, Standing, oldest_months, standing, wanted
from shared.findings import Quantity, Unit
from shared.vocabulary import BookingKind, CorrectionKind, Laterality, OpticalStatus, YesNo

# Which fields make a measurement, and which only say how it was taken.
_FIELDS: dict[Measurement, tuple[tuple[str, ...], tuple[str, ...]]] = {
    Measurement.AXIAL_LENGTH: (("axial_length_mm",), ("axial_length_method",)),
    Measurement.KERATOMETRY: (("k1_dioptres", "k2_dioptres"), ()),
    Measurement.PRESSURE: (("pressure_mmhg",), ("pressure_method", "pressure_measured", "on_steroid", "corneal_thickness_um")),
    Measurement.CORNEAL_DIAMETER: (("corneal_diameter_mm",), ()),
    Measurement.STITCHES: (("stitches_in",), ()),
    Measurement.LENS_FIT: (("lens_movement", "staining_grade", "corneal_vessels", "corneal_oedema"), ()),
}


@dataclass(frozen=True)
class Row:
    measurement: Measurement
    name: str
    found: Mapping[str, Any]  # field of a visit's eye -> the last value, as it is stored
    value: str
    how: str
    on: date | None
    age: str
    standing: Standing
    standing_label: str


@dataclass(frozen=True)
class EyeRows:
    side: Laterality
    heading: str
    status: str
    rows: tuple[Row, ...]


@dataclass(frozen=True)
class AnaestheticPage:
    child: Child
    age: str
    booked_on: date | None
    on: date  # the day the list is judged for: the booked one, else today
    stale_after: str
    eyes: tuple[EyeRows, ...]
    to_do: tuple[str, ...]


def view(c: Case, words: Words) -> AnaestheticPage:
    booked = c.booked(BookingKind.ANAESTHETIC)
    on = booked.on if booked else c.today
    eyes = tuple(_eye(c, eye, on, words) for eye in Laterality)
    return AnaestheticPage(
        child=c.child,
        age=age_shown(c.child.born_on, on, words),
        booked_on=booked.on if booked else None,
        on=on,
        stale_after=words.quantity(Quantity(oldest_months(c.child.born_on, on), Unit.MONTHS)),
        eyes=eyes,
        to_do=tuple(f"{e.heading}: {', '.join(due)}" for e in eyes if (due := [r.name for r in e.rows if r.standing is not Standing.RECENT])),
    )


def _eye(c: Case, eye: Laterality, on: date, words: Words) -> EyeRows:
    status = c.child.status(eye, on) or OpticalStatus.PHAKIC
    lens_worn = correction_in_force(c, CorrectionKind.CONTACT_LENS, eye) is not None
    heading = words.gettext("Right eye") if eye is Laterality.RIGHT else words.gettext("Left eye")
    return EyeRows(eye, heading, words.label(status), tuple(_row(c, eye, m, on, words) for m in wanted(status, lens_worn)))


def _row(c: Case, eye: Laterality, m: Measurement, on: date, words: Words) -> Row:
    values, how = _FIELDS[m]
    last = _last(c.visits, eye, values)
    found = last.eyes[eye] if last else None
    how_taken = joined(words, found, how) if found else ""
    attempt = _attempt_since(c.visits, eye, last) if m is Measurement.PRESSURE else None
    if attempt:
        tried = words.gettext("attempted on %(on)s, not obtained") % {"on": words.date(attempt)}
        how_taken = f"{how_taken}; {tried}" if how_taken else tried
    stands = standing(last.on if last else None, c.child.born_on, on)
    age = words.quantity(Quantity((on - last.on).days // 7, Unit.WEEKS)) if last else ""
    return Row(
        measurement=m,
        name=words.label(m),
        found={name: getattr(found, name) for name in values} if found else {},
        value=joined(words, found, values) if found else "–",
        how=how_taken,
        on=last.on if last else None,
        age=age,
        standing=stands,
        standing_label=words.label(stands),
    )


def _last(visits: Sequence[Visit], eye: Laterality, names: Sequence[str]) -> Visit | None:
    return next((v for v in reversed(visits) if any(getattr(v.eyes[eye], name) is not None for name in names)), None)


def _attempt_since(visits: Sequence[Visit], eye: Laterality, last: Visit | None) -> date | None:
    tried = [v.on for v in visits if v.eyes[eye].pressure_not_obtained is YesNo.YES and (last is None or v.on > last.on)]
    return tried[-1] if tried else None
