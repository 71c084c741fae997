"""How each aphakic eye grows: its refraction at both planes and its length, against what is published, and when its lens is outgrown."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from service.facts import Child
from service.i18n import Words
from service.views.acuity_chart import LineChart
from service.views.case import Case
from service.views.eye_courses import courses
from service.views.measure_chart import Area, Curve, Measured, measure_chart
from service.views.shown import FindingShown, finding_shown
from shared.axial_length import cataract_course, doubling_course
from shared.dates import age_years, month_on
from shared.errors import ClinicalInputError
from shared.findings import Quantity, Unit, msg
from shared.growth import Band
from shared.growth_course import Course, RefractedOn, forecast_finding, growth_outside_band, lens_off_expected
from shared.outgrown import trials_habit
from shared.planes import RefractionPlane
from shared.rounding import round_half_up

AHEAD_MONTHS = (3, 6, 12)
STEPS = 24  # of a curve
LIMITS_DIOPTRES = (1.0, 2.0, 3.0)
CORNEA, SPECTACLES = RefractionPlane.CORNEA, RefractionPlane.SPECTACLES
PLANES = {SPECTACLES: msg("Refraction in spectacles, spherical equivalent"), CORNEA: msg("Lens power at the cornea, spherical equivalent")}


@dataclass(frozen=True)
class MeasuredRow:
    """One refraction: at both planes, and what was expected in spectacles from the first one."""

    on: date
    spectacles: str
    cornea: str
    expected: str


@dataclass(frozen=True)
class AheadRow:
    """What is expected on a day: likely, and nineteen of twenty."""

    on: date
    spectacles: str
    cornea: str


@dataclass(frozen=True)
class OutRow:
    limit: str
    earliest: str
    likely: str
    latest: str


@dataclass(frozen=True)
class LengthRow:
    on: date
    measured: str
    normal: str
    cataract: str


@dataclass(frozen=True)
class EyeGrowth:
    eye: str
    charts: tuple[tuple[str, LineChart], ...]
    measured: tuple[MeasuredRow, ...]
    ahead: tuple[AheadRow, ...]
    forecast: FindingShown | None  # the last of these, with its working and sources
    silent: str  # why there is no forecast; "" where there is one
    worn: str  # the distance power that the dates speak of; "": a lens that was right
    out: tuple[OutRow, ...]
    lengths: tuple[LengthRow, ...]


@dataclass(frozen=True)
class GrowthPage:
    child: Child
    eyes: tuple[EyeGrowth, ...]
    findings: tuple[FindingShown, ...]


def view(c: Case, words: Words) -> GrowthPage:
    known = courses(c)
    found = [*lens_off_expected(known, c.today, c.rules.limits.lens_off_dioptres), *growth_outside_band(known), *([trials_habit()] if known else [])]
    kept = tuple(finding_shown(f, words) for f in found if f.rule not in c.rules.limits.rules_off)
    return GrowthPage(c.child, tuple(_eye(c, course, words) for course in known), kept)


def _eye(c: Case, course: Course, words: Words) -> EyeGrowth:
    newest, silent = _newest(course, words)
    first = next((r for r in course.refractions if newest and _speaks(course, r, newest.on)), None)
    charts = [_refraction_chart(course, plane, first, newest, c.today, words) for plane in PLANES] if course.refractions else []
    days = [c.today, *(month_on(c.today, months) for months in AHEAD_MONTHS)]
    ahead = [on for on in days if newest and on >= newest.on and _speaks(course, newest, on)]
    charts += [_length_chart(course, words)] if course.lengths else []
    return EyeGrowth(
        eye=words.label(course.side),
        charts=tuple(charts),
        measured=tuple(_measured(course, r, first, words) for r in reversed(course.refractions)),
        ahead=_ahead(course, newest, ahead, words) if newest else (),
        forecast=finding_shown(forecast_finding(course.side, course.forecast(newest, ahead[-1]), ahead[-1]), words) if newest and ahead else None,
        silent=silent,
        worn=words.quantity(_hundredth(course.worn_dioptres)) if course.worn_dioptres is not None else "",
        out=_out(c, course, newest, words) if newest else (),
        lengths=tuple(_length(course, on, mm, words) for on, mm in reversed(course.lengths)),
    )


def _newest(course: Course, words: Words) -> tuple[RefractedOn | None, str]:
    """The refraction that is gone on from, or why there is none."""
    if not course.refractions:
        return None, words.gettext("No refraction is recorded since the operation, without stitches.")
    newest = course.refractions[-1]
    try:
        course.forecast(newest, newest.on)
    except ClinicalInputError as outside:
        return None, words.text(outside.message)
    return newest, ""


def _speaks(course: Course, r: RefractedOn, on: date) -> bool:
    try:
        course.forecast(r, on)
    except ClinicalInputError:
        return False
    return True


def _days(course: Course, r: RefractedOn, until: date) -> list[date]:
    """Evenly from a refraction on, as far as the published ages go."""
    span = (until - r.on).days
    days = [r.on + timedelta(days=span * n // STEPS) for n in range(STEPS + 1)]
    return [on for on in dict.fromkeys(days) if _speaks(course, r, on)]


def _horizon(r: RefractedOn, today: date) -> date:
    return month_on(max(r.on, today), AHEAD_MONTHS[-1])


def _refraction_chart(
    course: Course, plane: RefractionPlane, first: RefractedOn | None, newest: RefractedOn | None, today: date, words: Words
) -> tuple[str, LineChart]:
    """Up to the newest refraction what the first one promised, from then on what the newest one does."""
    name = words.text(PLANES[plane])
    points = [Measured(r.on, course.side, _hundredth(r.refraction.at(plane).power).value) for r in course.refractions]
    curves, areas = [], []
    spans = [(first, newest.on, ""), (newest, _horizon(newest, today), words.gettext("forecast"))] if first and newest else []
    for start, until, label in spans:
        if until == start.on:
            continue
        bands = [(on, course.forecast(start, on).band(plane)) for on in _days(course, start, until)]
        curves.append(Curve("forecast", label, tuple((on, band.likely) for on, band in bands)))
        title = words.text(msg("nineteen of twenty eyes, from the refraction of %(on)s", on=start.on))
        areas.append(Area(title, tuple((on, band.low, band.high) for on, band in bands)))
    return name, measure_chart(name, Unit.DIOPTRE, points, words, curves, areas)


def _length_chart(course: Course, words: Words) -> tuple[str, LineChart]:
    name = words.gettext("Axial length")
    points = [Measured(on, course.side, mm) for on, mm in course.lengths]
    first_on, last_on = course.lengths[0][0], max(course.lengths[-1][0], course.lengths[0][0] + timedelta(days=28))
    days = [first_on + (last_on - first_on) * n // STEPS for n in range(STEPS + 1)]
    curves = []
    for label, length in ((words.gettext("normal"), _normal), (words.gettext("cataract"), cataract_course)):
        traced = tuple((on, mm) for on in days if (mm := _or_none(length, age_years(course.born_on, on))) is not None)
        curves += [Curve("published", label, traced)] if traced else []
    return name, measure_chart(name, Unit.MILLIMETRE, points, words, curves)


def _normal(years: float) -> float:
    return doubling_course(years)[0]


def _or_none(course: Callable[[float], float], years: float) -> float | None:
    try:
        return course(years)
    except ClinicalInputError:  # silent at this age
        return None


def _measured(course: Course, r: RefractedOn, first: RefractedOn | None, words: Words) -> MeasuredRow:
    glasses, cornea = (words.quantity(_hundredth(r.refraction.at(plane).power)) for plane in (SPECTACLES, CORNEA))
    expected = "–"
    if first and first.on < r.on and _speaks(course, first, r.on):
        expected = _span(course.forecast(first, r.on).band(SPECTACLES), words)
    return MeasuredRow(r.on, glasses, cornea, expected)


def _span(band: Band, words: Words) -> str:
    likely, low, high = map(_hundredth, (band.likely, band.low, band.high))
    return words.text(msg("%(likely)s (%(low)s to %(high)s)", likely=likely, low=low, high=high))


def _ahead(course: Course, newest: RefractedOn, days: Sequence[date], words: Words) -> tuple[AheadRow, ...]:
    found = [(on, course.forecast(newest, on)) for on in days]
    return tuple(AheadRow(on, _span(f.band(SPECTACLES), words), _span(f.band(CORNEA), words)) for on, f in found)


def _hundredth(dioptres: float) -> Quantity:
    """A forecast is not known more finely."""
    return Quantity(round_half_up(dioptres, 0.01), Unit.DIOPTRE)


def _out(c: Case, course: Course, newest: RefractedOn, words: Words) -> tuple[OutRow, ...]:
    limits = sorted({*LIMITS_DIOPTRES, c.rules.limits.lens_off_dioptres})
    rows = []
    for limit in limits:
        found = course.lens_out_on(newest, limit, course.worn_dioptres)
        shown = [words.date(on) if on else "–" for on in (found.earliest, found.likely, found.latest)]
        rows.append(OutRow(words.quantity(Quantity(limit, Unit.DIOPTRE)), *shown))
    return tuple(rows)


def _length(course: Course, on: date, mm: float, words: Words) -> LengthRow:
    years = age_years(course.born_on, on)
    normal, cataract = (_or_none(length, years) for length in (_normal, cataract_course))
    shown = ["–" if value is None else words.quantity(Quantity(value, Unit.MILLIMETRE)) for value in (mm, normal, cataract)]
    return LengthRow(on, *shown)
