"""How each aphakic eye grows: its refraction at both planes and its length, against what is published, and when its lens is outgrown."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta

from service.facts import Child
from service.i18n import Words
from service.views.acuity_chart import LineChart
from service.views.case import Case
from service.views.eye_courses import courses
from service.views.eye_growth import AHEAD_MONTHS, expected_on, findings, newest, out_on, refusal
from service.views.measure_chart import Area, Curve, Measured, measure_chart
from service.views.shown import FindingShown, SourceShown, finding_shown, shown_unless_off, sources_shown
from shared.dates import age_years, month_on
from shared.errors import ClinicalInputError
from shared.findings import Quantity, Unit, msg
from shared.growing.axial_length import cataract_course, doubling_course
from shared.growing.growth import Band
from shared.growing.growth_course import Course, OutOn, RefractedOn, forecast_finding
from shared.optics.planes import RefractionPlane
from shared.rounding import round_half_up

STEPS = 24  # of a curve
REFRACTION_SOURCES, LENGTH_SOURCES = ("iats-refraction-2021", "moore-1989"), ("boston-length", "trivedi-wilson-2007")
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
    sources: tuple[SourceShown, ...]  # of what is drawn beside the forecast


@dataclass(frozen=True)
class GrowthPage:
    child: Child
    eyes: tuple[EyeGrowth, ...]
    findings: tuple[FindingShown, ...]


def view(c: Case, words: Words) -> GrowthPage:
    return GrowthPage(c.child, tuple(_eye(c, course, words) for course in courses(c)), tuple(finding_shown(f, words) for f in findings(c)))


def _eye(c: Case, course: Course, words: Words) -> EyeGrowth:
    start, silent = newest(course)
    first = next((r for r in course.refractions if start and refusal(course, r, start.on) is None), None)
    charts = [_refraction_chart(course, plane, first, start, c.today, words) for plane in PLANES] if course.refractions else []
    charts += [_length_chart(course, words)] if course.lengths else []
    ahead = expected_on(course, c.today)
    return EyeGrowth(
        eye=words.label(course.side),
        charts=tuple(charts),
        measured=tuple(_measured(course, r, first, words) for r in reversed(course.refractions)),
        ahead=tuple(AheadRow(on, _span(f.band(SPECTACLES), words), _span(f.band(CORNEA), words)) for on, f in ahead),
        forecast=shown_unless_off(forecast_finding(course.side, ahead[-1][1], ahead[-1][0]), c.rules.limits.rules_off, words) if ahead else None,
        silent=words.text(silent) if silent else "",
        worn=words.quantity(_hundredth(course.worn_dioptres)) if course.worn_dioptres is not None else "",
        out=tuple(_out(found, words) for found in out_on(c, course)),
        lengths=tuple(_length(course, on, mm, words) for on, mm in reversed(course.lengths)),
        sources=sources_shown((*(REFRACTION_SOURCES if start else ()), *(LENGTH_SOURCES if course.lengths else ()))),
    )


def _days(course: Course, r: RefractedOn, until: date) -> list[date]:
    """Evenly from a refraction on, as far as the published ages go."""
    span = (until - r.on).days
    days = [r.on + timedelta(days=span * n // STEPS) for n in range(STEPS + 1)]
    return [on for on in dict.fromkeys(days) if refusal(course, r, on) is None]


def _horizon(r: RefractedOn, today: date) -> date:
    return month_on(max(r.on, today), AHEAD_MONTHS[-1])


def _refraction_chart(
    course: Course, plane: RefractionPlane, first: RefractedOn | None, start: RefractedOn | None, today: date, words: Words
) -> tuple[str, LineChart]:
    """Up to the newest refraction what the first one promised, from then on what the newest one does."""
    name = words.text(PLANES[plane])
    points = [Measured(r.on, course.side, _hundredth(r.refraction.at(plane).power).value) for r in course.refractions]
    curves, areas = [], []
    spans = [(first, start.on, ""), (start, _horizon(start, today), words.gettext("forecast"))] if first and start else []
    for begin, until, label in spans:
        if until == begin.on:
            continue
        bands = [(on, course.forecast(begin, on).band(plane)) for on in _days(course, begin, until)]
        curves.append(Curve("forecast", label, tuple((on, band.likely) for on, band in bands)))
        title = words.text(msg("nineteen of twenty eyes, from the refraction of %(on)s", on=begin.on))
        areas.append(Area(title, tuple((on, band.low, band.high) for on, band in bands)))
    if first and start:
        curves += _beside(course, plane, first, _horizon(start, today), words)
    return name, measure_chart(name, Unit.DIOPTRE, points, words, curves, areas)


def _beside(course: Course, plane: RefractionPlane, first: RefractedOn, until: date, words: Words) -> list[Curve]:
    """The other published course of a plane from the first refraction on, as far as it goes."""
    label = {SPECTACLES: words.gettext("trial"), CORNEA: words.gettext("Moore")}[plane]
    traced = []
    for on in _days(course, first, until):
        try:
            traced.append((on, course.beside(first, on, plane)))
        except ClinicalInputError:  # it is silent there
            continue
    return [Curve("published", label, tuple(traced))] if len(traced) > 1 else []


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
    if first and first.on < r.on and refusal(course, first, r.on) is None:
        expected = _span(course.forecast(first, r.on).band(SPECTACLES), words)
    return MeasuredRow(r.on, glasses, cornea, expected)


def _span(band: Band, words: Words) -> str:
    likely, low, high = map(_hundredth, (band.likely, band.low, band.high))
    return words.text(msg("%(likely)s (%(low)s to %(high)s)", likely=likely, low=low, high=high))


def _hundredth(dioptres: float) -> Quantity:
    """A forecast is not known more finely."""
    return Quantity(round_half_up(dioptres, 0.01), Unit.DIOPTRE)


def _out(found: OutOn, words: Words) -> OutRow:
    earliest, likely, latest = (words.date(on) if on else "–" for on in (found.earliest, found.likely, found.latest))
    return OutRow(words.quantity(Quantity(found.limit, Unit.DIOPTRE)), earliest, likely, latest)


def _length(course: Course, on: date, mm: float, words: Words) -> LengthRow:
    years = age_years(course.born_on, on)
    normal, cataract = (_or_none(length, years) for length in (_normal, cataract_course))
    shown = ["–" if value is None else words.quantity(Quantity(value, Unit.MILLIMETRE)) for value in (mm, normal, cataract)]
    return LengthRow(on, *shown)
