"""Acuity of both eyes over time, in logMAR."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import groupby
from math import ceil, floor

from service.i18n import Words
from service.views.plates import FRAMES, NARROW, WIDE, Label, PhaseBand, Plate, Scale, TimeAxis, band_title, bands_drawn, ends, in_rows, near
from shared.findings import Quantity, Unit, msg

FIRST_STYLE = ("amblyopic", "right")  # solid line, filled marks; the other eye is dashed and hollow
# One outline about the origin for each test an eye is measured with; the two eyes never share one.
FILLED_MARKS = ("M0-6 5 0 0 6-5 0Z", "M0-6 5.5 4-5.5 4Z", "M0 6 5.5-4-5.5-4Z")
HOLLOW_MARKS = ("M4.5 0A4.5 4.5 0 1 1-4.5 0 4.5 4.5 0 1 1 4.5 0Z", "M-4-4H4V4H-4Z", "M-5 0-2.5-4.3H2.5L5 0 2.5 4.3H-2.5Z")
HEIGHT = {NARROW: 190.0, WIDE: 220.0}


@dataclass(frozen=True)
class AcuityPoint:
    """One acuity of one eye, in logMAR. `series` is the test's name as shown, `label` the eye's; `repeatability` is half its bar, in logMAR."""

    on: date
    eye_role: str  # amblyopic | fellow; right | left where no eye is amblyopic
    logmar: float
    reliable: bool
    series: str
    repeatability: float | None
    label: str


@dataclass(frozen=True)
class Mark:
    x: float
    y: float
    outline: str
    reliable: bool
    bar: tuple[float, float] | None  # from y to y
    title: str


@dataclass(frozen=True)
class Line:
    style: str  # first | second
    points: str  # of a polyline; "" where one point stands alone
    marks: tuple[Mark, ...]


@dataclass(frozen=True)
class Change:
    """Where a test takes over from another: an upright line from `top`, where its name stands, to the ground."""

    x: float
    top: float


@dataclass(frozen=True)
class Traced:
    """A line or an area that nobody measured, as the points of a polyline or a polygon."""

    style: str  # forecast | published
    points: str
    title: str


@dataclass(frozen=True)
class LinePlate(Plate):
    lines: tuple[Line, ...]
    tests: tuple[Label, ...]
    changes: tuple[Change, ...]
    areas: tuple[Traced, ...] = ()
    curves: tuple[Traced, ...] = ()


@dataclass(frozen=True)
class LineChart:
    title: str
    desc: str
    axis: str
    plates: tuple[LinePlate, ...]


def acuity_chart(points: Sequence[AcuityPoint], bands: Sequence[PhaseBand], first_on: date, end_on: date, words: Words) -> LineChart:
    """Acuity of both eyes over the half-open days; lower is better, and lies lower. Raises `ValueError` without any point."""
    if not points:
        raise ValueError("no points")
    points = sorted(points, key=lambda p: p.on)
    return LineChart(
        title=words.gettext("Visual acuity over time"),
        desc=_acuity_desc(points, bands, words),
        axis=words.gettext("logMAR: lower is better ↓"),
        plates=tuple(_acuity_plate(points, bands, TimeAxis(frame, first_on, end_on), words) for frame in FRAMES),
    )


def _acuity_desc(points: Sequence[AcuityPoint], bands: Sequence[PhaseBand], words: Words) -> str:
    sentences = []
    for role in dict.fromkeys(p.eye_role for p in points):
        eye = [p for p in points if p.eye_role == role]
        sentence = msg(
            "%(eye)s: %(first)s on %(first_on)s, %(last)s on %(last_on)s.",
            eye=eye[0].label,
            first=_logmar(eye[0]),
            first_on=eye[0].on,
            last=_logmar(eye[-1]),
            last_on=eye[-1].on,
        )
        sentences.append(words.text(sentence))
    return " ".join([*sentences, "; ".join(band_title(b, words) for b in bands)]).strip()


def _logmar(p: AcuityPoint) -> Quantity:
    return Quantity(p.logmar, Unit.LOGMAR)


def _acuity_plate(points: Sequence[AcuityPoint], bands: Sequence[PhaseBand], axis: TimeAxis, words: Words) -> LinePlate:
    frame = axis.frame
    names = in_rows([(axis.x(b.first_on) + 3, b.label) for b in bands], frame, frame.text + 1.5 * frame.line)
    turns = _turns(points, axis)
    tests = in_rows([(x + 3, series) for series, x in turns.items()], frame, max([frame.text, *(n.y for n in names)]) + 1.2 * frame.line)
    name_y = {t.text: t.y for t in tests}
    top = max(name_y.values()) + 0.6 * frame.line
    bottom = top + HEIGHT[frame]
    scale = _logmar_scale(points, top, bottom)
    last = {p.eye_role: p for p in points}
    return LinePlate(
        frame=frame,
        height=near(bottom + 2.7 * frame.line),
        bottom=near(bottom),
        title_y=frame.text,
        bands=bands_drawn(bands, axis, frame.text + 0.5 * frame.line, bottom, words),
        names=names,
        days=axis.ticks(words),
        days_y=near(bottom + 1.35 * frame.line),
        years_y=near(bottom + 2.35 * frame.line),
        values=scale.ticks("0.0", words),
        ends=ends([(_style(p), p.label, scale.y(p.logmar)) for p in last.values()], axis.x(points[-1].on) + 10, frame, bottom),
        lines=tuple(_lines(points, list(turns), axis, scale, words)),
        tests=tests,
        changes=tuple(Change(near(x), near(name_y.get(test, top) - frame.text)) for test, x in list(turns.items())[1:]),
    )


def _turns(points: Sequence[AcuityPoint], axis: TimeAxis) -> dict[str, float]:
    """For each test, oldest first, the x where it takes over: half-way from the examination before it."""
    turns: dict[str, float] = {}
    before = points[0].on
    for on, found in groupby(points, key=lambda p: p.on):
        for p in found:
            turns.setdefault(p.series, (axis.x(before) + axis.x(on)) / 2)
        before = on
    return turns


def _logmar_scale(points: Sequence[AcuityPoint], top: float, bottom: float) -> Scale:
    """From 0, or below it, to 1 or above: whole steps that hold every bar."""
    least = min(0.0, *(p.logmar - (p.repeatability or 0) for p in points))
    most = max(1.0, *(p.logmar + (p.repeatability or 0) for p in points))
    step = 0.2 if most - least <= 1.6 else 0.5
    return Scale(floor(least / step + 1e-9) * step, ceil(most / step - 1e-9) * step, step, top, bottom)


def _style(p: AcuityPoint) -> str:
    return "first" if p.eye_role in FIRST_STYLE else "second"


def _lines(points: Sequence[AcuityPoint], tests: Sequence[str], axis: TimeAxis, scale: Scale, words: Words) -> Iterable[Line]:
    """A line for each eye and test: no line joins two tests."""

    def key(p: AcuityPoint) -> tuple[str, int]:
        return _style(p), tests.index(p.series)

    for (style, test), group in groupby(sorted(points, key=key), key=key):
        outlines = FILLED_MARKS if style == "first" else HOLLOW_MARKS
        marks = tuple(_mark(p, outlines[test % len(outlines)], axis, scale, words) for p in group)
        yield Line(style, " ".join(f"{m.x},{m.y}" for m in marks) if len(marks) > 1 else "", marks)


def _mark(p: AcuityPoint, outline: str, axis: TimeAxis, scale: Scale, words: Words) -> Mark:
    text = msg("%(eye)s, %(on)s: %(value)s, %(test)s", eye=p.label, on=p.on, value=_logmar(p), test=p.series)
    if not p.reliable:
        text = msg("%(point)s, poor reliability", point=text)
    bar = None if p.repeatability is None else (near(scale.y(p.logmar + p.repeatability)), near(scale.y(p.logmar - p.repeatability)))
    return Mark(near(axis.x(p.on)), near(scale.y(p.logmar)), outline, p.reliable, bar, words.text(text))
